"""The measured quantities of a job; every figure lists the surfaces it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import Number, choice, identifier, length_mm, many, number, one, text, whole
from api_schema.measured_quantity import MeasuredQuantity
from api_schema.said import Said

ItemName = Literal[
    "membrane_laid", "lap_tape", "corner_tape", "frame_tape", "timber_edge_tape", "primer", "bead", "staples",
    "collar", "captive_tape", "section_tape", "lap", "end_lap", "corner", "timber_edge", "masonry_edge", "slab_edge",
    "frame", "opening", "opening_perimeter", "piece", "captive", "section", "flue", "batten",
]  # fmt: skip
ITEMS: tuple[ItemName, ...] = (
    "membrane_laid", "lap_tape", "corner_tape", "frame_tape", "timber_edge_tape", "primer", "bead", "staples",
    "collar", "captive_tape", "section_tape", "lap", "end_lap", "corner", "timber_edge", "masonry_edge", "slab_edge",
    "frame", "opening", "opening_perimeter", "piece", "captive", "section", "flue", "batten",
)  # fmt: skip
QuantityUnit = Literal["m2", "m", "piece", "ml"]


def _area(description: str, example: str = "14.20") -> Number:
    return number(description, example=example, unit="m2", minimum="-1000000")


@dataclass(frozen=True, slots=True)
class SurfaceQuantity:
    """The part of a quantity that one surface gives."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    quantity: Annotated[Decimal, number("How much.", example="6.2", unit="quantity unit")]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One measured quantity."""

    item: Annotated[ItemName, choice("What is measured.", ITEMS, example="lap_tape")]
    quantity: Annotated[Decimal, number("How much in all.", example="48.6", unit="quantity unit")]
    unit: Annotated[QuantityUnit, choice("Counted by.", ("m2", "m", "piece", "ml"), example="m")]
    from_: Annotated[tuple[SurfaceQuantity, ...], many(SurfaceQuantity, "The surfaces it comes from.")] = ()
    product: Annotated[
        str | None, identifier("The product used, where it is chosen by size.", example="collar-110")
    ] = None


@dataclass(frozen=True, slots=True)
class SurfaceAreas:
    """The areas of one surface."""

    id: Annotated[str, identifier("The surface.", example="living-north")]
    gross_m2: Annotated[Decimal, _area("Outline.")]
    net_m2: Annotated[Decimal, _area("Outline less openings.")]
    deducted_m2: Annotated[Decimal, _area("Deducted under the measurement rule.")]
    as_measured_m2: Annotated[
        Decimal,
        _area("Gross less deducted; 0 of a surface that the rule measures in metres, see `measured`."),
    ]
    as_laid_m2: Annotated[Decimal, _area("Pieces as cut, laps and allowances included.")]
    as_bought_m2: Annotated[
        Decimal | None,
        _area(
            "Its share of the rolls opened, by what is cut from each; null in plans made before it was told."
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class AreaTotals:
    """The areas of the job."""

    gross_m2: Annotated[Decimal, _area("Outlines; the envelope area where every surface of it is given.")]
    net_m2: Annotated[Decimal, _area("Outlines less openings.")]
    deducted_m2: Annotated[Decimal, _area("Deducted under the measurement rule.")]
    as_measured_m2: Annotated[
        Decimal, _area("For payment, without the surfaces that the rule measures in metres.")
    ]
    as_laid_m2: Annotated[Decimal, _area("Pieces as cut.")]
    as_bought_m2: Annotated[Decimal, _area("Rolls opened.")]


@dataclass(frozen=True, slots=True)
class Sealing:
    """How one penetration is sealed."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    penetration: Annotated[str, identifier("The penetration.", example="p1")]
    method: Annotated[
        Literal["collar", "taped", "section_taped", "non_combustible"],
        choice(
            "Collar over the free end, tape round a captive one, tape round a section, or a non-combustible closure by a competent person.",
            ("collar", "taped", "section_taped", "non_combustible"),
        ),
    ]
    count: Annotated[int, whole("How many alike.", example=1)]
    product: Annotated[str | None, identifier("The collar.", example="collar-110")] = None
    tape_pieces: Annotated[int, whole("Tape pieces for each.", example=7)] = 0
    tape_piece_mm: Annotated[int, length_mm("Length of each.", example=150)] = 0
    tape_m: Annotated[Decimal, number("Tape for all alike.", example="1.05", unit="m")] = Decimal(0)
    note: Annotated[
        str,
        text("A word for the crew.", example="no collar in the price book fits 300 mm: taped", longest=300),
    ] = ""
    note_said: Annotated[Said | None, one(Said, "The note taken apart, for another language.")] = None


@dataclass(frozen=True, slots=True)
class TakeOff:
    """The measured quantities of a job."""

    surfaces: Annotated[tuple[SurfaceAreas, ...], many(SurfaceAreas, "Areas by surface.")]
    totals: Annotated[AreaTotals, one(AreaTotals, "Areas of the job.")]
    quantities: Annotated[tuple[Quantity, ...], many(Quantity, "Everything counted from the geometry.")]
    penetrations: Annotated[tuple[Sealing, ...], many(Sealing, "How each penetration is sealed.")] = ()
    measured: Annotated[
        tuple[MeasuredQuantity, ...], many(MeasuredQuantity, "Quantities under the measurement rule.")
    ] = ()
