"""Which side of a surface an edge lies on, as one sees it from inside: decided here for lists, reports and pages alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from api_schema.surface import Outline
from api_schema.survey import is_clockwise

Side = Literal["lower", "upper", "left", "right"]
SideOrSlanting = Literal["lower", "upper", "left", "right", "slanting"]


@dataclass(frozen=True, slots=True)
class EdgeSide:
    """`nearest` is the side a slanting edge is nearest to as well; one at half a right angle is lower or upper."""

    nearest: Side
    slanting: bool

    @property
    def exact(self) -> SideOrSlanting:
        """The side of a level or upright edge; any other slants."""
        return "slanting" if self.slanting else self.nearest


def edge_sides(outline: Outline) -> tuple[EdgeSide, ...]:
    """The side of every edge of an outline, whichever way round it runs; none for one without corners."""
    return tuple(_sides(outline))


def _sides(outline: Outline) -> Iterator[EdgeSide]:
    if not outline:
        return
    turn = -1 if is_clockwise(outline) else 1
    for (u, v), (a, b) in zip(outline, (*outline[1:], outline[0]), strict=True):
        # counter-clockwise, an edge that runs to the right lies below the surface, one that runs up to its right
        along, up = turn * (a - u), turn * (b - v)
        level: Side = "lower" if along > 0 else "upper"
        upright: Side = "right" if up > 0 else "left"
        yield EdgeSide(level if abs(along) >= abs(up) else upright, slanting=along != 0 and up != 0)
