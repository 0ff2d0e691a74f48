"""What may differ from the plan in one quote; whatever is named is priced anew, the strips stay as planned."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, money, share


@dataclass(frozen=True, slots=True)
class QuoteOptions:
    """Options of a quote. Left as they are, the quote has the plan's price."""

    collars: Annotated[
        Literal["as_planned", "by_us", "by_others"],
        choice(
            "Who brings and fits the collars: we, or the trades whose pipes and cables they seal; as the job says where not named.",
            ("as_planned", "by_us", "by_others"),
        ),
    ] = "as_planned"
    fixing: Annotated[
        Literal["as_surveyed", "in_place", "blown_in"],
        choice(
            "Fixing centres and labour for insulation that is in place or blown in later; as the job says where not named.",
            ("as_surveyed", "in_place", "blown_in"),
        ),
    ] = "as_surveyed"
    hours: Annotated[
        Literal["as_set", "likely", "safe"],
        choice(
            "Which hours are priced; as the price book says where not named.", ("as_set", "likely", "safe")
        ),
    ] = "as_set"
    discount: Annotated[
        Decimal | None,
        share("Taken off at the end; the price book's where not named.", example="0.05", maximum="1"),
    ] = None
    access_charge: Annotated[
        Decimal | None,
        money("Platforms and scaffolding, for the job; the price book's where not named.", example="240.00"),
    ] = None
    tax: Annotated[
        str | None,
        identifier(
            "One tax rate for the whole quote, by code; the job's or each line's own where not named.",
            example="reduced",
        ),
    ] = None
    access_tax: Annotated[
        str | None,
        identifier(
            "Tax rate on platforms and scaffolding; the price book's where not named.", example="standard"
        ),
    ] = None
