"""What is asked about a quote: what changed since the revision before, and a link the customer may open."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, many, moment, money, number, text, whole
from api_schema.price import PRICE_GROUPS, PriceGroup

_LEAST = "-1000000000"


@dataclass(frozen=True, slots=True)
class LineChange:
    """One line of the price in both revisions; what is null stands in one of them only."""

    group: Annotated[PriceGroup, choice("What kind of line.", PRICE_GROUPS)]
    name: Annotated[str, text("What it is for.", example="Lap tape 60 mm", longest=160)]
    quantity_before: Annotated[Decimal | None, number("How much before.", example="2", unit="line unit")]
    quantity_now: Annotated[Decimal | None, number("How much now.", example="3", unit="line unit")]
    amount_before: Annotated[Decimal | None, money("Amount before.", example="96.60", minimum=_LEAST)]
    amount_now: Annotated[Decimal | None, money("Amount now.", example="144.90", minimum=_LEAST)]
    difference: Annotated[Decimal, money("Now less before.", example="48.30", minimum=_LEAST)]


@dataclass(frozen=True, slots=True)
class OtherChange:
    """Something else that reads differently."""

    what: Annotated[str, text("A JSON Pointer into the quote.", example="/valid_until", longest=200)]
    before: Annotated[str, text("Before.", example="2026-12-25", longest=4000)]
    now: Annotated[str, text("Now.", example="2027-01-08", longest=4000)]


@dataclass(frozen=True, slots=True)
class QuoteChanges:
    """A revision side by side with the one issued before it."""

    quote: Annotated[str, text("This quote.", example="quo_4Zk0c7tQm2")]
    revision: Annotated[int, whole("Its revision.", example=2, minimum=1)]
    previous: Annotated[
        str | None, text("The one issued before it; null for the first.", example="quo_3Yj9b6sPl1")
    ]
    previous_revision: Annotated[int | None, whole("Its revision.", example=1, minimum=1)]
    lines: Annotated[tuple[LineChange, ...], many(LineChange, "Lines that are not alike.")]
    others: Annotated[tuple[OtherChange, ...], many(OtherChange, "What else is not alike.")]
    net_before: Annotated[Decimal | None, money("Net before.", example="4100.00", minimum=_LEAST)]
    net_now: Annotated[Decimal | None, money("Net now.", example="4148.30", minimum=_LEAST)]
    total_before: Annotated[Decimal | None, money("With tax before.", example="4920.00", minimum=_LEAST)]
    total_now: Annotated[Decimal | None, money("With tax now.", example="4977.96", minimum=_LEAST)]


@dataclass(frozen=True, slots=True)
class OfferLink:
    """An address at which the customer may look at the quote and accept or decline it, without a key."""

    url: Annotated[
        str,
        text("Send it to the customer; whoever has it may answer.", example="/offer/WyJhY2Mi…", longest=1000),
    ]
    expires_at: Annotated[datetime.datetime, moment("After this it opens nothing.")]
