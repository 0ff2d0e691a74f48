"""A quantity as it is measured for payment under the measurement rule, beside what it is."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import Number, choice, identifier, many, number

MeasuredItem = Literal[
    "area", "reveal", "narrow", "lap", "end_lap", "corner", "timber_edge", "masonry_edge", "slab_edge", "frame",
    "opening_perimeter", "penetration",
]  # fmt: skip
MEASURED_ITEMS: tuple[MeasuredItem, ...] = (
    "area", "reveal", "narrow", "lap", "end_lap", "corner", "timber_edge", "masonry_edge", "slab_edge", "frame",
    "opening_perimeter", "penetration",
)  # fmt: skip
MeasuredUnit = Literal["m2", "m", "piece"]


def _figure(description: str, example: str) -> Number:
    return number(description, example=example, unit="quantity unit", minimum="-1000000")


@dataclass(frozen=True, slots=True)
class MeasuredPart:
    """What one surface gives of it."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    gross: Annotated[Decimal, _figure("From end to end, gaps and openings over-measured.", "15.19")]
    net: Annotated[Decimal, _figure("What there is.", "13.03")]
    deducted: Annotated[Decimal, _figure("Taken off under the rule.", "0")]
    as_measured: Annotated[Decimal, _figure("For payment: gross less deducted.", "15.19")]


@dataclass(frozen=True, slots=True)
class MeasuredQuantity:
    """One item of the measured quantities."""

    item: Annotated[
        MeasuredItem,
        choice(
            "What is measured. narrow: surfaces up to 500 mm wide, in metres; reveal: measured extra; laps deemed "
            "included are measured as nothing.",
            MEASURED_ITEMS,
            example="area",
        ),
    ]
    unit: Annotated[MeasuredUnit, choice("Counted by.", ("m2", "m", "piece"), example="m2")]
    gross: Annotated[Decimal, _figure("From end to end, gaps and openings over-measured.", "61.20")]
    net: Annotated[Decimal, _figure("What there is.", "57.36")]
    deducted: Annotated[Decimal, _figure("Taken off under the rule.", "2.16")]
    as_measured: Annotated[Decimal, _figure("For payment: gross less deducted.", "59.04")]
    from_: Annotated[tuple[MeasuredPart, ...], many(MeasuredPart, "The surfaces it comes from.")] = ()
