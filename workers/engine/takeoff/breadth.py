"""How narrow an outline is at its narrowest, by comparing whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from workers.engine.takeoff.segments import Corner, edges_of


def at_most(outline: Sequence[Corner], limit_mm: int) -> bool:
    """Is the narrowest breadth of the outline at most `limit_mm`?"""
    return _narrowest(outline)[0] <= limit_mm * limit_mm


def length_along_mm(outline: Sequence[Corner]) -> Decimal:
    """The length of the outline square to its narrowest breadth, in millimetres."""
    _, extent, squared = _narrowest(outline)
    return Decimal(extent) / Decimal(squared).sqrt()


def _narrowest(outline: Sequence[Corner]) -> tuple[Fraction, int, int]:
    """Squared breadth, and the extent along that side of the hull times its length with its length squared.

    The narrowest breadth of a convex outline is square to one of its sides.
    """
    hull = _hull(outline)
    found = []
    for (ax, ay), (bx, by) in edges_of(hull):
        dx, dy = bx - ax, by - ay
        squared = dx * dx + dy * dy
        away = max(dx * (y - ay) - dy * (x - ax) for x, y in hull)
        along = [dx * x + dy * y for x, y in hull]
        found.append((Fraction(away * away, squared), max(along) - min(along), squared))
    return min(found)


def _hull(outline: Sequence[Corner]) -> tuple[Corner, ...]:
    """The convex hull, counter-clockwise (monotone chain)."""
    corners = sorted(set(outline))
    halves: list[list[Corner]] = []
    for ordered in (corners, corners[::-1]):
        half: list[Corner] = []
        for corner in ordered:
            while len(half) > 1 and _turns_right(half[-2], half[-1], corner):
                half.pop()
            half.append(corner)
        halves.append(half[:-1])
    return (*halves[0], *halves[1])


def _turns_right(a: Corner, b: Corner, c: Corner) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) <= 0
