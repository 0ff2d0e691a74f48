"""A piece of plan and the plane over it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from workers.engine.building.planar import Loop, Point

Plane = tuple[Fraction, Fraction, Fraction]  # height = a·x + b·y + c


@dataclass(frozen=True, slots=True)
class Cover:
    """What is over a piece of plan. Covers of one name belong to one ceiling or slope."""

    name: str
    kind: Literal["ceiling", "slope"]
    loops: tuple[Loop, ...]
    plane: Plane
    walls: tuple[str, ...] = ()  # the walls a slope rises from
    slope: int = 0  # counted upwards from 1


def height(plane: Plane, p: Point) -> Fraction:
    """Height of a plane over a plan point."""
    if plane[0] == 0 and plane[1] == 0:
        return plane[2]
    return plane[0] * p[0] + plane[1] * p[1] + plane[2]
