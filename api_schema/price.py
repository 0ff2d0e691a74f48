"""The price of a job: lines, each traced to a quantity, a rate and a rule; totals from rounded lines."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, many, money, number, share, text
from api_schema.tax import STANDARD, TAX_CATEGORIES, TaxCategory

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
    tax: Annotated[str, identifier("Its tax rate, by code.", example="standard")] = STANDARD
    tax_amount: Annotated[
        Decimal | None,
        money(
            "The tax on it, rounded half-even; null where tax was reckoned on the sum of the lines.",
            example="19.32",
            minimum="-1000000000",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class TaxLine:
    """The tax at one rate."""

    rate: Annotated[Decimal, share("The rate.", example="0.20", maximum="1")]
    base: Annotated[Decimal, money("The amounts it is on.", example="4100.00", minimum="-1000000000")]
    amount: Annotated[
        Decimal, money("The tax: the sum of that of the lines.", example="820.00", minimum="-1000000000")
    ]
    code: Annotated[str, identifier("The rate, by code.", example="standard")] = STANDARD
    name: Annotated[str, text("What the rate is called.", example="standard", longest=60)] = ""
    category: Annotated[
        TaxCategory | None,
        choice(
            "UN/EDIFACT 5305 code; null in prices made before there was one.", TAX_CATEGORIES, example="S"
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class Price:
    """The price of a job."""

    currency: Annotated[str, text("ISO 4217.", example="EUR", longest=3)]
    lines: Annotated[tuple[PriceLine, ...], many(PriceLine, "Line by line.")]
    net: Annotated[Decimal, money("Sum of the lines.", example="4100.00")]
    tax: Annotated[tuple[TaxLine, ...], many(TaxLine, "By rate.")]
    total: Annotated[Decimal, money("Net and tax.", example="4920.00")]


def is_rounded_by_line(price: Price) -> bool:
    """Does the tax of the lines differ from what a rate gives on their sum?"""
    return any(tax.amount != (tax.base * tax.rate).quantize(tax.amount) for tax in price.tax)
