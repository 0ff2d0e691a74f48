"""What is wrong with the wish for a quote, as far as the job and the price book planned with tell."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from api_schema.problem import Fault
from api_schema.quote_alternatives import alternative_faults
from api_schema.quote_wish import QuoteWish
from api_schema.tax import STANDARD


def wish_faults(wish: QuoteWish, job: Mapping[str, Any], book: Mapping[str, Any]) -> tuple[Fault, ...]:
    """Every fault; `job` and `book` are JSON of the job and of the price book that the plan was made with."""
    options = wish.options
    meant = dataclasses.replace(
        options,
        collars=job.get("collars", "by_us") if options.collars == "as_planned" else options.collars,
        fixing=job["insulation"] if options.fixing == "as_surveyed" else options.fixing,
        access_charge=(
            Decimal(book["rules"]["access_charge"])
            if options.access_charge is None
            else options.access_charge
        ),
    )
    return _unknown_rates(wish, book) + alternative_faults(wish.alternatives, meant)


def _unknown_rates(wish: QuoteWish, book: Mapping[str, Any]) -> tuple[Fault, ...]:
    known = [STANDARD, *(rate["code"] for rate in book.get("tax_rates", ()) if rate["code"] != STANDARD)]
    named = {"tax": wish.options.tax, "access_tax": wish.options.access_tax}
    return tuple(
        Fault(
            f"/options/{name}", f'"{code}" is no tax rate of the price book planned with: {", ".join(known)}.'
        )
        for name, code in named.items()
        if code is not None and code not in known
    )
