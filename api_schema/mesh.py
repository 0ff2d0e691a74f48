"""The closed shape of a derived building in space, for drawings and for programs that show it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import Many, identifier, length_mm, list_of, many, number, whole

_FAR_MM = 1_000_000


def _place(description: str) -> Many:
    axis = length_mm("One axis.", example=0, minimum=-_FAR_MM, maximum=_FAR_MM)
    return list_of(axis, description, fewest=3, most=3)


def _unit(description: str) -> Many:
    axis = number("One axis.", example="1", unit="1", minimum="-1", maximum="1", plain=True)
    return list_of(axis, description, fewest=3, most=3)


@dataclass(frozen=True, slots=True)
class MeshFace:
    """A flat face."""

    corners: Annotated[
        tuple[int, ...],
        list_of(
            whole("Index into corners_mm.", example=0),
            "Its corners, counter-clockwise seen from outside.",
            fewest=3,
        ),
    ]
    surface: Annotated[
        str | None,
        identifier("The surface it belongs to; null where it carries no membrane.", example="ground-south"),
    ] = None


@dataclass(frozen=True, slots=True)
class SurfacePlane:
    """Where a surface lies in space: the point of (u, v) is origin + u · right + v · up."""

    surface: Annotated[str, identifier("The surface.", example="ground-south")]
    origin_mm: Annotated[tuple[int, ...], _place("Its zero [x, y, z], to the millimetre.")]
    right: Annotated[tuple[Decimal, ...], _unit("One millimetre to the right, seen from inside.")]
    up: Annotated[tuple[Decimal, ...], _unit("One millimetre up.")]


@dataclass(frozen=True, slots=True)
class BuildingMesh:
    """The closed shape: x and y as in the building's plan, z up, whole millimetres."""

    corners_mm: Annotated[tuple[tuple[int, ...], ...], list_of(_place("[x, y, z]."), "Every corner once.")]
    faces: Annotated[tuple[MeshFace, ...], many(MeshFace, "Every face; together they close.")]
    planes: Annotated[tuple[SurfacePlane, ...], many(SurfacePlane, "Where each lined surface lies.")] = ()
