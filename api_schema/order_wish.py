"""Where and when the packs of an order should come."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated

from api_schema.fields import day, list_of, text


@dataclass(frozen=True, slots=True)
class OrderWish:
    """Delivery of the orders of a job."""

    deliver_to: Annotated[
        tuple[str, ...] | None,
        list_of(
            text("A line.", example="1 Sample Street", longest=120),
            "Address, a line each; the customer's where not said.",
            most=8,
        ),
    ] = None
    deliver_on: Annotated[datetime.date | None, day("Day asked for.", example="2026-12-01")] = None
    notes: Annotated[
        str | None,
        text("To the suppliers.", example="Ring the site half an hour before.", longest=1000),
    ] = None


@dataclass(frozen=True, slots=True)
class OrderEdit:
    """What may be changed in an order while it is a draft."""

    deliver_to: Annotated[
        tuple[str, ...],
        list_of(
            text("A line.", example="1 Sample Street", longest=120), "Delivery address, a line each.", most=8
        ),
    ] = ()
    deliver_on: Annotated[datetime.date | None, day("Day asked for.", example="2026-12-01")] = None
    notes: Annotated[
        str, text("To the supplier.", example="Ring the site half an hour before.", longest=1000)
    ] = ""
