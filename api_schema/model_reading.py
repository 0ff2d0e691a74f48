"""What was read from a designer's model: a proposed survey to be confirmed, and what could not be placed."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import Number, choice, list_of, many, number, text
from api_schema.job import MOST_SURFACES, MOST_VERTICES, Junction
from api_schema.surface import Surface

UNPLACED_KINDS = (
    "space", "wall", "roof", "slab", "window", "door", "opening", "face", "pipe_or_cable",
)  # fmt: skip


def _amount(description: str, unit: str, example: str) -> Number:
    return number(description, example=example, unit=unit, plain=True)


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Something in the model that the proposed survey does not hold."""

    kind: Annotated[str, choice("What it is.", UNPLACED_KINDS, example="window")]
    name: Annotated[str, text("Its name in the model.", example="Window 3")]
    reason: Annotated[
        str, text("Why, and what to do.", example="lies in no outer face; measure it on site.", longest=400)
    ]
    model_id: Annotated[str, text("Its identifier in the model.", example="2XQ$n5SLP5MBLyL442paFx")] = ""


@dataclass(frozen=True, slots=True)
class ModelReading:
    """A proposed survey. Nothing of it counts until somebody has looked at it."""

    schema: Annotated[str, text("Schema of the file.", example="IFC4")]
    surfaces: Annotated[
        tuple[Surface, ...],
        many(Surface, "Inner faces of the envelope, each in its own plane.", most=MOST_SURFACES),
    ]
    junctions: Annotated[tuple[Junction, ...], many(Junction, "Where they meet.", most=MOST_VERTICES)]
    volume_m3: Annotated[Decimal, _amount("Volume of all spaces.", "m3", "217.532")]
    floor_area_m2: Annotated[Decimal, _amount("Floors of all spaces.", "m2", "107.16")]
    envelope_area_m2: Annotated[Decimal, _amount("Outer faces of all spaces.", "m2", "284.4")]
    unplaced: Annotated[tuple[Unplaced, ...], many(Unplaced, "What could not be placed.")] = ()
    notes: Annotated[
        tuple[str, ...],
        list_of(
            text("A note.", example="Studs at 400 mm are assumed.", longest=500),
            "What was assumed, and is to be confirmed.",
        ),
    ] = ()
