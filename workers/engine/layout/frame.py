"""Run frames and members: which way strips run, and where the timbers lie in that frame.

Along strips is s, across them is t; the frames are those of api_schema/layout.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from api_schema.surface import Members

Points = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class MemberLines:
    """Middles of parallel members on one axis: `first_mm` + k · `centres_mm` for every whole k.

    They are taken to go on both ways from the first, so that a surface whose zero lies in its middle has timbers
    on both sides.
    """

    first_mm: int
    centres_mm: int
    width_mm: int

    def between(self, low: int, high: int) -> list[int]:
        """Middles from `low` to `high`, both included."""
        k = -((self.first_mm - low) // self.centres_mm)
        return list(range(self.first_mm + k * self.centres_mm, high + 1, self.centres_mm))

    def carries(self, at: int) -> bool:
        """Does the line `at` lie on a member's face?"""
        off = (at - self.first_mm) % self.centres_mm
        return 2 * min(off, self.centres_mm - off) <= self.width_mm


def across(direction: str) -> str:
    """The direction square to `direction`."""
    if direction == "up":
        return "across"
    if direction == "across":
        return "up"
    turned = (Decimal(direction) + 90) % 180
    return "across" if turned == 0 else "up" if turned == 90 else f"{turned.normalize():f}"


def is_upright(direction: str) -> bool:
    """True for the two directions that need no turning of coordinates."""
    return direction in ("up", "across")


def into_frame(points: Points, direction: str) -> Points:
    """`points` (u, v) as (s, t); at an angle each coordinate is rounded to the nearest whole mm."""
    if direction == "across":
        return points
    if direction == "up":
        return tuple((v, u) for u, v in points)
    cos, sin = turn(direction)
    return tuple((round(u * cos + v * sin), round(-u * sin + v * cos)) for u, v in points)


def turn(direction: str) -> tuple[float, float]:
    """Cosine and sine of a direction in degrees."""
    angle = math.radians(float(direction))
    return math.cos(angle), math.sin(angle)


def lines_along(members: Members) -> MemberLines:
    """Middles of the members as t, where the strips run along them."""
    return MemberLines(members.first_mm, members.centres_mm, members.width_mm)


def lines_across(members: Members) -> MemberLines:
    """Middles of the members as s, where the strips run across them."""
    first = members.first_mm
    if not is_upright(members.direction) and Decimal(members.direction) > 90:
        first = -first  # the frame square to an angle over 90° points the other way
    return MemberLines(first, members.centres_mm, members.width_mm)
