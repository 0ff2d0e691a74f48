"""Where and when the packs of an order should come."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, day, identifier, list_of, many, number, text, whole


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


@dataclass(frozen=True, slots=True)
class LineCame:
    """Packs of one size of one product that came now."""

    product: Annotated[str, identifier("The product.", example="tape-60")]
    packs: Annotated[int, whole("How many came.", example=2, maximum=1_000_000)]
    pack_size: Annotated[
        Decimal | None,
        number(
            "In one pack; may be left out where the order has the product in one size.",
            example="30",
            unit="product unit",
            minimum="0.001",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class Receipt:
    """What came of an order. Left empty, everything that was still to come."""

    lines: Annotated[
        tuple[LineCame, ...] | None,
        many(
            LineCame, "What came now, nothing where empty; everything still to come where not said.", most=200
        ),
    ] = None
    rest: Annotated[
        Literal["to_come", "not_coming"],
        choice(
            "Whether more is to come: not_coming closes the order with what came.", ("to_come", "not_coming")
        ),
    ] = "to_come"
