"""Random footprints and buildings, and short ways to describe them."""

from __future__ import annotations

import math
import random
from typing import Any

from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from api_schema.building import Building
from api_schema.shape import load

Corners = list[list[int]]


def building(**parts: Any) -> Building:
    """A building from JSON."""
    return load(Building, parts)


def rectangle(width: int, depth: int, x: int = 0, y: int = 0) -> Corners:
    """A rectangular footprint: walls south, east, north, west."""
    return [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]]


COMPASS = ["south", "east", "north", "west"]


def orthogonal_footprint(chance: random.Random, grid: int = 500, most: int = 5) -> Corners | None:
    """The outline of a union of boxes on a grid; None where it falls apart, touches itself or has a hole."""
    boxes = []
    for _ in range(chance.randint(1, most)):
        x, y = chance.randint(0, 16) * grid, chance.randint(0, 16) * grid
        boxes.append(box(x, y, x + chance.randint(2, 14) * grid, y + chance.randint(2, 14) * grid))
    shape = unary_union(boxes)
    if shape.geom_type != "Polygon" or shape.interiors or not shape.is_valid:
        return None
    return _corners(shape)


def any_footprint(chance: random.Random) -> Corners:
    """A star-shaped polygon of 3 to 9 corners, re-entrant ones too, whole millimetres."""
    while True:
        count = chance.randint(3, 9)
        shape = Polygon(
            [
                (
                    round(9000 * r * x),
                    round(9000 * r * y),
                )
                for r, (x, y) in zip(
                    [chance.uniform(0.35, 1) for _ in range(count)], _round_about(count, chance), strict=True
                )
            ]
        )
        if shape.is_valid and shape.area > 4e6 and shape.geom_type == "Polygon":
            corners = _corners(shape)
            if len(corners) >= 3:
                return corners


def _round_about(count: int, chance: random.Random) -> list[tuple[float, float]]:
    turns = sorted(chance.uniform(0, 2 * math.pi) for _ in range(count))
    return [(math.cos(turn), math.sin(turn)) for turn in turns]


def _corners(shape: Polygon) -> Corners:
    """Whole-millimetre corners counter-clockwise, those on a straight line left out."""
    ring = [[round(x), round(y)] for x, y in shape.simplify(0).exterior.coords[:-1]]
    kept = []
    for i, (x, y) in enumerate(ring):
        (ax, ay), (bx, by) = ring[i - 1], ring[(i + 1) % len(ring)]
        if (x - ax) * (by - ay) != (y - ay) * (bx - ax):
            kept.append([x, y])
    return kept if Polygon(kept).exterior.is_ccw else kept[::-1]
