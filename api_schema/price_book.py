"""The products with pack sizes and prices that an account (or its merchant) buys from, and how it prices."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import (
    choice,
    day,
    identifier,
    length_mm,
    list_of,
    many,
    money,
    number,
    one,
    share,
    text,
    whole,
)
from api_schema.provenance import PROVENANCE_KINDS, ProvenanceKind
from api_schema.tax import TaxRate

ProductKind = Literal[
    "membrane", "lap_tape", "frame_tape", "collar", "sealant", "primer", "staples", "batten"
]
PRODUCT_KINDS: tuple[ProductKind, ...] = (
    "membrane",
    "lap_tape",
    "frame_tape",
    "collar",
    "sealant",
    "primer",
    "staples",
    "batten",
)
ProductUnit = Literal["m", "piece", "ml"]


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """A lower price from a number of packs on."""

    from_packs: Annotated[int, whole("From this many packs.", example=10, minimum=2)]
    price: Annotated[Decimal, money("Price of one pack from there on.", example="38.00")]


@dataclass(frozen=True, slots=True)
class Pack:
    """One size a product is sold in."""

    size: Annotated[
        Decimal,
        number(
            "How much is in it, in the product's unit.", example="30", unit="product unit", minimum="0.001"
        ),
    ]
    price: Annotated[Decimal, money("Price of one pack, without tax.", example="42.00")]
    breaks: Annotated[tuple[PriceBreak, ...], many(PriceBreak, "Prices for quantity.", most=20)] = ()
    valid_from: Annotated[
        datetime.date | None, day("First day of this price; always where not said.", example="2026-01-01")
    ] = None
    valid_until: Annotated[
        datetime.date | None,
        day("Last day of this price; until further notice where not said.", example="2026-12-31"),
    ] = None


@dataclass(frozen=True, slots=True)
class Product:
    """Something bought for the layer. A membrane's unit is metres of roll; its packs are rolls."""

    code: Annotated[str, identifier("Its code in this price book.", example="membrane-1500")]
    name: Annotated[str, text("What it is.", example="Membrane 1.5 m × 50 m", longest=120)]
    kind: Annotated[ProductKind, choice("What it is used for.", PRODUCT_KINDS)]
    supplier: Annotated[str, identifier("Who sells it.", example="example-supplies")]
    unit: Annotated[ProductUnit, choice("Counted by.", ("m", "piece", "ml"))]
    packs: Annotated[tuple[Pack, ...], many(Pack, "Sizes it is sold in.", fewest=1, most=20)]
    width_mm: Annotated[
        int | None, length_mm("Width of a membrane or tape.", example=1500, minimum=1, maximum=20_000)
    ] = None
    smallest_mm: Annotated[
        int | None, length_mm("Smallest diameter a collar seals.", example=100, minimum=1, maximum=2000)
    ] = None
    largest_mm: Annotated[
        int | None, length_mm("Largest diameter a collar seals.", example=115, minimum=1, maximum=2000)
    ] = None
    millilitres: Annotated[
        Decimal | None,
        number("Content of a cartridge.", example="310", unit="ml", minimum="1", maximum="100000"),
    ] = None
    on_hand: Annotated[Decimal, number("Stock on hand, in the unit.", example="0", unit="product unit")] = (
        Decimal(0)
    )
    provenance: Annotated[
        ProvenanceKind, choice("Where the price comes from.", PROVENANCE_KINDS, example="invented")
    ] = "invented"
    tax: Annotated[
        str | None,
        identifier("Its tax rate, by code; the standard one where not said.", example="reduced"),
    ] = None


@dataclass(frozen=True, slots=True)
class Supplier:
    """Who sells products."""

    code: Annotated[str, identifier("Its code.", example="example-supplies")]
    name: Annotated[str, text("Its name.", example="Example Supplies", longest=120)]
    address: Annotated[
        tuple[str, ...],
        list_of(text("A line.", example="2 Sample Road", longest=120), "Address, a line each.", most=8),
    ] = ()
    email: Annotated[str, text("Where orders go.", example="orders@example.com")] = ""


@dataclass(frozen=True, slots=True)
class Offcut:
    """A piece of membrane on hand, left by an earlier job."""

    product: Annotated[str, identifier("The membrane it was cut from.", example="membrane-1500")]
    length_mm: Annotated[int, length_mm("Length.", example=8200, minimum=1)]
    width_mm: Annotated[int, length_mm("Width.", example=1500, minimum=1)]
    count: Annotated[int, whole("How many alike.", example=1, minimum=1, maximum=1000)] = 1


@dataclass(frozen=True, slots=True)
class PriceRules:
    """How a price is made from quantities, hours and buying prices."""

    labour_cost_per_h: Annotated[
        Decimal, money("What an hour of one person costs the firm.", example="28.00")
    ] = Decimal("28.00")
    labour_markup: Annotated[Decimal, share("Added to labour.", example="0.25")] = Decimal("0.25")
    material_markup: Annotated[Decimal, share("Added to materials.", example="0.15")] = Decimal("0.15")
    overhead: Annotated[Decimal, share("Added to labour and materials with mark-up.", example="0.08")] = (
        Decimal("0.08")
    )
    contingency: Annotated[Decimal, share("Added for what cannot be foreseen.", example="0.03")] = Decimal(
        "0.03"
    )
    discount: Annotated[Decimal, share("Taken off at the end.", example="0", maximum="1")] = Decimal(0)
    access_charge: Annotated[Decimal, money("Platforms and scaffolding, for the job.", example="0")] = (
        Decimal(0)
    )
    travel_charge: Annotated[Decimal, money("Travel, by crew day.", example="18.00")] = Decimal("18.00")
    minimum_charge: Annotated[
        Decimal, money("No job is quoted under this, before tax.", example="350.00")
    ] = Decimal("350.00")
    tax_rate: Annotated[
        Decimal,
        share("The standard tax rate: on every line that names no other.", example="0.20", maximum="1"),
    ] = Decimal("0.20")
    hours_priced: Annotated[
        Literal["likely", "safe"], choice("Which hours are priced.", ("likely", "safe"))
    ] = "likely"
    provenance: Annotated[
        ProvenanceKind, choice("Where these come from.", PROVENANCE_KINDS, example="invented")
    ] = "invented"
    labour_tax: Annotated[
        str | None, identifier("Tax rate on labour, by code; standard where not said.", example="reduced")
    ] = None
    access_tax: Annotated[
        str | None,
        identifier("Tax rate on platforms and scaffolding; standard where not said.", example="standard"),
    ] = None
    travel_tax: Annotated[
        str | None, identifier("Tax rate on travel, by code; standard where not said.", example="standard")
    ] = None


@dataclass(frozen=True, slots=True)
class PriceBook:
    """Everything an account buys and how it prices."""

    products: Annotated[tuple[Product, ...], many(Product, "What is bought.", most=2000)]
    suppliers: Annotated[tuple[Supplier, ...], many(Supplier, "Who sells it.", most=200)]
    currency: Annotated[
        str,
        text(
            "ISO 4217 currency of every price.",
            example="EUR",
            pattern=r"\A[A-Z]{3}\Z",
            pattern_help="must be three capital letters, ISO 4217.",
        ),
    ] = "EUR"
    offcuts: Annotated[tuple[Offcut, ...], many(Offcut, "Membrane offcuts on hand.", most=2000)] = ()
    rules: Annotated[PriceRules, one(PriceRules, "How a price is made.")] = field(default_factory=PriceRules)
    as_of: Annotated[
        datetime.date | None,
        day("The day a plan's prices were taken for; set by the service.", example="2026-11-25"),
    ] = None
    tax_rates: Annotated[
        tuple[TaxRate, ...],
        many(TaxRate, "Tax rates beside the standard one, whose figure stands in the rules.", most=20),
    ] = ()
