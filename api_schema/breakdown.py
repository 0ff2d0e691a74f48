"""Where the money of a price lies, for the firm's eyes: by surface and by operation. Never on a customer's sheet."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, identifier, many, money, number, text
from api_schema.measured_quantity import MeasuredQuantity
from api_schema.outputs import OPERATIONS, OperationName
from api_schema.price import TaxLine

_LEAST = "-1000000000"


@dataclass(frozen=True, slots=True)
class SurfaceShare:
    """The part of the price that one surface brings about. The parts of all surfaces add up to the net."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    hours: Annotated[
        Decimal, number("Likely hours; work on the whole job is shared out.", example="3.2", unit="h")
    ]
    materials: Annotated[
        Decimal, money("Materials, shared out by what the surface needs of each.", example="84.10")
    ]
    labour: Annotated[Decimal, money("Labour, shared out by hours.", example="112.00", minimum=_LEAST)]
    rest: Annotated[
        Decimal,
        money(
            "Access, travel, overhead, contingency, discount and minimum, shared out by materials and labour.",
            example="31.40",
            minimum=_LEAST,
        ),
    ]
    net: Annotated[Decimal, money("All of it, before tax.", example="227.50", minimum=_LEAST)]


@dataclass(frozen=True, slots=True)
class OperationShare:
    """What one operation takes and brings."""

    operation: Annotated[OperationName, choice("The operation.", OPERATIONS, example="tape_lap")]
    name: Annotated[str, text("In words.", example="Tape laps", longest=160)]
    hours: Annotated[Decimal, number("Likely hours.", example="4.1", unit="h")]
    low_h: Annotated[Decimal, number("Hours when all goes well.", example="2.9", unit="h")]
    high_h: Annotated[Decimal, number("Hours on a bad day.", example="5.8", unit="h")]
    cost: Annotated[Decimal, money("What the likely hours cost the firm.", example="114.80")]
    amount: Annotated[Decimal, money("What the price asks for them, before overhead.", example="143.50")]


@dataclass(frozen=True, slots=True)
class Breakdown:
    """A price taken apart."""

    surfaces: Annotated[tuple[SurfaceShare, ...], many(SurfaceShare, "Surface by surface.")]
    operations: Annotated[tuple[OperationShare, ...], many(OperationShare, "Operation by operation.")]
    materials_cost: Annotated[
        Decimal, money("Materials at buying price, what comes from stock too.", example="640.00")
    ]
    labour_cost: Annotated[Decimal, money("The hours priced, at the firm's cost.", example="1190.00")]
    net: Annotated[Decimal, money("The price before tax.", example="2410.00", minimum=_LEAST)]
    margin: Annotated[
        Decimal,
        money(
            "Net less materials and labour at cost: for overhead and profit.",
            example="580.00",
            minimum=_LEAST,
        ),
    ]
    tax: Annotated[tuple[TaxLine, ...], many(TaxLine, "Tax on the net, by rate.")] = ()
    measured: Annotated[
        tuple[MeasuredQuantity, ...],
        many(MeasuredQuantity, "Quantities measured for payment, under the standard's rule."),
    ] = ()
