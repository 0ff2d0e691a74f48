"""The price of a job: lines, each traced to a quantity, a rate and a rule; totals from rounded lines."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, many, money, number, share, text

PriceGroup = Literal[
    "materials", "labour", "access", "travel", "overhead", "contingency", "discount", "minimum"
]
PRICE_GROUPS: tuple[PriceGroup, ...] = (
    "materials",
    "labour",
    "access",
    "travel",
    "overhead",
    "contingency",
    "discount",
    "minimum",
)


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line of the price."""

    group: Annotated[PriceGroup, choice("What kind of line.", PRICE_GROUPS)]
    name: Annotated[str, text("What it is for.", example="Lap tape 60 mm", longest=160)]
    quantity: Annotated[Decimal, number("How much.", example="2", unit="line unit")]
    unit: Annotated[str, text("Counted by.", example="pack", longest=20)]
    rate: Annotated[
        Decimal,
        number(
            "Price per unit, before rounding the line.",
            example="48.30",
            unit="currency",
            minimum="-1000000000",
        ),
    ]
    amount: Annotated[
        Decimal,
        money(
            "The line, rounded half-even to the currency's minor unit.",
            example="96.60",
            minimum="-1000000000",
        ),
    ]
    tax_rate: Annotated[Decimal, share("Tax on it.", example="0.20", maximum="1")]
    rule: Annotated[
        str, text("How the rate was made.", example="buying price 42.00 + 15 % mark-up", longest=300)
    ]


@dataclass(frozen=True, slots=True)
class TaxLine:
    """The tax at one rate."""

    rate: Annotated[Decimal, share("The rate.", example="0.20", maximum="1")]
    base: Annotated[Decimal, money("The amounts it is on.", example="4100.00", minimum="-1000000000")]
    amount: Annotated[Decimal, money("The tax.", example="820.00", minimum="-1000000000")]


@dataclass(frozen=True, slots=True)
class Price:
    """The price of a job."""

    currency: Annotated[str, text("ISO 4217.", example="EUR", longest=3)]
    lines: Annotated[tuple[PriceLine, ...], many(PriceLine, "Line by line.")]
    net: Annotated[Decimal, money("Sum of the lines.", example="4100.00")]
    tax: Annotated[tuple[TaxLine, ...], many(TaxLine, "By rate.")]
    total: Annotated[Decimal, money("Net and tax.", example="4920.00")]
