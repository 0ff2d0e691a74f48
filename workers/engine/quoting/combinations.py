"""Every choice of alternatives priced in full, and what each alternative alone makes of the price."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from api_schema.job import Job
from api_schema.outputs import Outputs
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.quote_alternatives import OfferedAlternative, choices, overlaid
from api_schema.quote_options import QuoteOptions
from api_schema.standard import Standard
from workers.engine.quoting.reprice import Offered, price_with


@dataclass(frozen=True, slots=True)
class OfferedChoice:
    """What is offered with some of the alternatives."""

    chosen: tuple[str, ...]
    offered: Offered


def price_choices(
    job: Job,
    plan: Plan,
    options: QuoteOptions,
    alternatives: Sequence[OfferedAlternative],
    standard: Standard,
    outputs: Outputs,
    price_book: PriceBook,
) -> tuple[OfferedChoice, ...]:
    """Every permitted choice, that of none first, each bought, worked and priced from the plan by `price_with`.

    Differences are never added up: minimum charge, packs and rounding belong to the whole price.

    Raises:
        SettingRefused: as `price_with`.
    """
    return tuple(
        OfferedChoice(
            tuple(str(one.code) for one in chosen),
            price_with(job, plan, overlaid(options, chosen), standard, outputs, price_book),
        )
        for chosen in choices(alternatives)
    )


def with_differences(
    alternatives: Sequence[OfferedAlternative], priced: Sequence[OfferedChoice]
) -> tuple[OfferedAlternative, ...]:
    """The alternatives, each with what it alone adds to the quote's price; `priced` as from `price_choices`."""
    prices = {one.chosen: one.offered.price for one in priced}
    base = prices[()]
    return tuple(
        dataclasses.replace(
            one,
            net_difference=prices[(str(one.code),)].net - base.net,
            total_difference=prices[(str(one.code),)].total - base.total,
        )
        for one in alternatives
    )
