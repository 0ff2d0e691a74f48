"""Exact arithmetic on the straight edges of outlines whose corners are whole numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from math import gcd

Corner = tuple[int, int]
Edge = tuple[Corner, Corner]
Exact = int | Fraction  # whole where it can be, which is nearly always, and a fraction elsewhere
Stretch = tuple[Exact, Exact]
Line = tuple[int, int, int]


def edges_of(outline: Sequence[Corner]) -> tuple[Edge, ...]:
    """The edges of an outline; edge i runs from corner i to corner i+1."""
    return tuple(zip(outline, (*outline[1:], outline[0]), strict=True))


def squared_length(edge: Edge) -> int:
    """The square of an edge's length, in the square of the corners' unit."""
    (ax, ay), (bx, by) = edge
    return (bx - ax) ** 2 + (by - ay) ** 2


def length_mm(edge: Edge, part: Exact = 1) -> Decimal:
    """Length of `part` of an edge in millimetres; exact where the edge is, else to the context's precision."""
    root = Decimal(squared_length(edge)).sqrt()
    return root * part.numerator / part.denominator


class Rings:
    """The outline of a surface (ring 0) and of each of its openings (ring 1 onwards), as edges.

    Knows which stretches of an edge lie on no other ring. Edges are kept by the line they lie on, so that looking
    one up takes no longer on a surface of many corners.
    """

    def __init__(self, outlines: Iterable[Sequence[Corner]]) -> None:
        self.rings = tuple(edges_of(outline) for outline in outlines)
        self._on_line: dict[Line, list[tuple[int, Edge]]] = {}
        for number, ring in enumerate(self.rings):
            for edge in ring:
                self._on_line.setdefault(_line_of(edge), []).append((number, edge))

    def bare(self, ring: int, edge: Edge) -> tuple[Stretch, ...]:
        """Stretches of an edge of ring number `ring` that lie on no edge of another ring."""
        beside = self._on_line.get(_line_of(edge), ())
        return bare_stretches(edge, (other for number, other in beside if number != ring))

    def bare_length_mm(self, ring: int, edge: Edge) -> Decimal:
        """The length of those stretches in millimetres."""
        return length_mm(edge, total(self.bare(ring, edge)))


def bare_stretches(edge: Edge, others: Iterable[Edge]) -> tuple[Stretch, ...]:
    """The stretches of an edge that lie on none of the others, as parts of its length from 0 to 1.

    Only others that lie along it count; one that crosses it or touches it in a point takes nothing away.
    """
    covered = sorted(filter(None, (_shared(edge, other) for other in others)))
    stretches: list[Stretch] = []
    reached: Exact = 0
    for start, end in covered:
        if start > reached:
            stretches.append((reached, start))
        reached = max(reached, end)
    if reached < 1:
        stretches.append((reached, 1))
    return tuple(stretches)


def _line_of(edge: Edge) -> Line:
    """The line through an edge as whole numbers (p, q, r) with p·x + q·y = r, the same for every edge on it."""
    (ax, ay), (bx, by) = edge
    p, q = by - ay, ax - bx
    size = gcd(p, q) * (1 if (p, q) > (0, 0) else -1)
    p, q = p // size, q // size
    return (p, q, p * ax + q * ay)


def total(stretches: Iterable[Stretch]) -> Exact:
    """The sum of stretches, as a part of the edge."""
    return sum((end - start for start, end in stretches), start=0)


def divided(numerator: int, denominator: int) -> Exact:
    """An exact quotient, whole where it is whole."""
    quotient, rest = divmod(numerator, denominator)
    return quotient if rest == 0 else Fraction(numerator, denominator)


def _shared(edge: Edge, other: Edge) -> Stretch | None:
    (ax, ay), (bx, by) = edge
    dx, dy = bx - ax, by - ay
    if any(dx * (y - ay) != dy * (x - ax) for x, y in other):
        return None
    along = [(x - ax) * dx + (y - ay) * dy for x, y in other]
    size = dx * dx + dy * dy
    start, end = max(0, min(along)), min(size, max(along))
    return (divided(start, size), divided(end, size)) if start < end else None
