"""An order: the packs to buy from one supplier."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, day, identifier, list_of, many, money, number, one, text, whole
from api_schema.order_line import OrderLine
from api_schema.price import TaxLine
from api_schema.price_book import Supplier

OrderState = Literal["draft", "sent", "confirmed", "received"]
ORDER_STATES: tuple[OrderState, ...] = ("draft", "sent", "confirmed", "received")


@dataclass(frozen=True, slots=True)
class PacksCame:
    """Packs of one size of one product that came."""

    product: Annotated[str, identifier("The product.", example="tape-60")]
    pack_size: Annotated[Decimal, number("In one pack.", example="30", unit="product unit")]
    packs: Annotated[int, whole("How many came.", example=2)]


@dataclass(frozen=True, slots=True)
class Order:
    """The packs to buy from one supplier."""

    number: Annotated[str, text("Its number.", example="O-2026-0001", longest=32)]
    state: Annotated[OrderState, choice("Where it stands.", ORDER_STATES)]
    made_on: Annotated[datetime.date, day("Day it was made.")]
    supplier: Annotated[Supplier, one(Supplier, "Who it goes to.")]
    reference: Annotated[str, text("The job's reference.", example="PX-014")]
    currency: Annotated[str, text("ISO 4217.", example="EUR", longest=3)]
    lines: Annotated[tuple[OrderLine, ...], many(OrderLine, "What is ordered.")]
    net: Annotated[Decimal, money("Sum of the lines, without tax.", example="640.00")]
    deliver_to: Annotated[
        tuple[str, ...],
        list_of(text("A line.", example="1 Sample Street"), "Delivery address, a line each.", most=8),
    ] = ()
    deliver_on: Annotated[datetime.date | None, day("Day asked for.")] = None
    notes: Annotated[
        str, text("To the supplier.", example="Ring the site half an hour before.", longest=1000)
    ] = ""
    tax: Annotated[
        tuple[TaxLine, ...], many(TaxLine, "Tax to expect on the supplier's invoice, by rate.")
    ] = ()
    total: Annotated[
        Decimal | None,
        money("Net and tax to expect; null in orders made before tax was reckoned.", example="768.00"),
    ] = None
    came: Annotated[
        tuple[PacksCame, ...] | None,
        many(
            PacksCame,
            "What came so far; null before anything did, and in orders received before parts of one could be.",
        ),
    ] = None
