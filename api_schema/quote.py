"""A quote: a priced offer made from a plan, numbered and revisioned, frozen once issued."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Annotated, Literal

from api_schema.fields import choice, day, one, text, whole
from api_schema.job import Customer
from api_schema.price import Price
from api_schema.quote_alternatives import COMBINATIONS, OFFERED, Combination, OfferedAlternative
from api_schema.quote_options import QuoteOptions

QuoteState = Literal["draft", "issued", "accepted", "declined", "expired", "superseded"]
QUOTE_STATES: tuple[QuoteState, ...] = ("draft", "issued", "accepted", "declined", "expired", "superseded")


@dataclass(frozen=True, slots=True)
class Quote:
    """A priced offer."""

    number: Annotated[
        str,
        text(
            "Its number, without gaps in the account; a draft has none yet.", example="2026-0001", longest=32
        ),
    ]
    revision: Annotated[int, whole("Its revision.", example=1, minimum=1)]
    state: Annotated[QuoteState, choice("Where it stands.", QUOTE_STATES)]
    issued_on: Annotated[datetime.date | None, day("Day of issue.")]
    valid_until: Annotated[datetime.date | None, day("Last day it can be accepted.", example="2026-12-25")]
    reference: Annotated[str, text("The job's reference.", example="PX-014")]
    title: Annotated[str, text("The job.", example="Plot 14, one-and-a-half storey house")]
    customer: Annotated[Customer, one(Customer, "Who it is for.")]
    price: Annotated[Price, one(Price, "What is offered.")]
    terms: Annotated[str, text("Terms.", example="Payment within 30 days.", longest=2000)] = ""
    options: Annotated[QuoteOptions, one(QuoteOptions, "What differs from the plan.")] = field(
        default_factory=QuoteOptions
    )
    introduction: Annotated[
        str, text("To the customer, above the price.", example="Thank you for your enquiry.", longest=1000)
    ] = ""
    alternatives: Annotated[tuple[OfferedAlternative, ...], OFFERED] = ()
    combinations: Annotated[tuple[Combination, ...], COMBINATIONS] = ()
