"""What was measured, a row a surface: the survey report's content, for paper, pages and programs."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import Number, choice, identifier, length_mm, many, number, text, whole
from api_schema.surface import (
    MOST_CORNERS,
    OPENING_KINDS,
    SURFACE_KINDS,
    OpeningKind,
    SurfaceKind,
)


def _area(description: str, example: str) -> Number:
    return number(description, example=example, unit="m2", minimum="-1000000")


@dataclass(frozen=True, slots=True)
class MeasuredEdge:
    """One edge of a surface."""

    edge: Annotated[int, whole("Which edge of the outline.", example=0, maximum=MOST_CORNERS)]
    length_mm: Annotated[int, length_mm("Its length.", example=6200)]
    ends_on: Annotated[
        str,
        text("A finish, or the surface it meets; empty where nothing was said.", example="slab", longest=64),
    ]
    angle_deg: Annotated[
        Decimal | None,
        number(
            "Angle to that surface through the room.", example="90", unit="deg", maximum="360", plain=True
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class MeasuredOpening:
    """One opening of a surface."""

    id: Annotated[str, identifier("Its name.", example="w1")]
    kind: Annotated[OpeningKind, choice("What it is.", OPENING_KINDS)]
    from_left_mm: Annotated[int, length_mm("Its left side.", example=1800, minimum=-1_000_000)]
    up_mm: Annotated[int, length_mm("Its lower side.", example=900, minimum=-1_000_000)]
    width_mm: Annotated[int, length_mm("Its width.", example=1800)]
    height_mm: Annotated[int, length_mm("Its height.", example=1200)]
    area_m2: Annotated[Decimal, _area("Its area.", "2.16")]


@dataclass(frozen=True, slots=True)
class MeasuredSurface:
    """One surface of a survey."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    room: Annotated[str, text("The room.", example="living", longest=80)]
    kind: Annotated[SurfaceKind, choice("What it is.", SURFACE_KINDS)]
    width_mm: Annotated[int, length_mm("Greatest width.", example=6200)]
    height_mm: Annotated[int, length_mm("Greatest height.", example=2450)]
    gross_m2: Annotated[Decimal, _area("Outline.", "15.19")]
    net_m2: Annotated[Decimal, _area("Outline less openings.", "13.03")]
    edges: Annotated[tuple[MeasuredEdge, ...], many(MeasuredEdge, "Its edges.")]
    openings: Annotated[tuple[MeasuredOpening, ...], many(MeasuredOpening, "Its openings.")]
    penetrations: Annotated[int, whole("How many things pass through it.", example=3)]
