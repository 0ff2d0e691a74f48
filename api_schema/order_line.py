"""What to buy: packs of products, after stock on hand."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, identifier, money, number, text, whole
from api_schema.price_book import PRODUCT_KINDS, ProductKind


@dataclass(frozen=True, slots=True)
class OrderLine:
    """Packs of one size of one product."""

    product: Annotated[str, identifier("The product.", example="tape-60")]
    name: Annotated[str, text("What it is.", example="Lap tape 60 mm, 30 m", longest=120)]
    kind: Annotated[ProductKind, choice("What it is used for.", PRODUCT_KINDS, example="lap_tape")]
    supplier: Annotated[str, identifier("Who sells it.", example="example-supplies")]
    needed: Annotated[
        Decimal, number("Needed for the job, before waste.", example="48.6", unit="product unit")
    ]
    waste: Annotated[Decimal, number("Added for waste.", example="2.43", unit="product unit")]
    from_stock: Annotated[Decimal, number("Taken from stock.", example="0", unit="product unit")]
    packs: Annotated[int, whole("Packs to buy of this size.", example=2)]
    pack_size: Annotated[Decimal, number("In one pack.", example="30", unit="product unit")]
    unit: Annotated[str, text("Counted by.", example="m", longest=20)]
    pack_price: Annotated[Decimal, money("Price of one pack at this quantity.", example="42.00")]
    price: Annotated[Decimal, money("Price of the line, without tax.", example="84.00")]
    tax: Annotated[
        str | None, identifier("The product's tax rate, by code; standard where null.", example="reduced")
    ] = None
