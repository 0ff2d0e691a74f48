"""A region cut at the height of every corner into slabs of trapezoids: what band and lap are measured on.

Between two neighbouring corner heights no edges cross, so a slab is a row of trapezoids with straight sides.
Sides are kept as exact lines; a position along the run is rounded outward to whole mm where it is used.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise

from workers.engine.layout.region import Rings

Span = tuple[int, int]
_MANY_SLABS = 16  # from here on it pays to merge their extents beforehand


@dataclass(frozen=True, slots=True)
class Side:
    """A slanted or square side of a trapezoid: s at height t is s0 + ds·(t − t0)/dt, dt > 0."""

    s0: int
    t0: int
    ds: int
    dt: int

    def floor(self, t: int) -> int:
        """s at height t, rounded down."""
        return self.s0 + self.ds * (t - self.t0) // self.dt

    def ceil(self, t: int) -> int:
        """s at height t, rounded up."""
        return self.s0 - (-self.ds * (t - self.t0)) // self.dt


def merged(extents: list[Span]) -> list[Span]:
    """Sorted extents with those that touch or overlap joined."""
    found: list[Span] = []
    for low, high in sorted(extents):
        if found and low <= found[-1][1]:
            if high > found[-1][1]:
                found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return found


Trapezoid = tuple[Side, Side]


@dataclass(frozen=True, slots=True)
class Slab:
    """The trapezoids between the heights `low` and `high`, from left to right, and each one's whole extent."""

    low: int
    high: int
    trapezoids: tuple[Trapezoid, ...]
    extents: tuple[Span, ...]

    def extent(self, trapezoid: Trapezoid, low: int, high: int) -> Span:
        """How far a trapezoid reaches along the run between two heights of this slab, rounded outward."""
        left, right = trapezoid
        return left.floor(low if left.ds > 0 else high), right.ceil(high if right.ds > 0 else low)


@dataclass(frozen=True, slots=True)
class Slabs:
    """All slabs of a region from the lowest to the highest; a slab without trapezoids is a gap."""

    slabs: tuple[Slab, ...]
    heights: tuple[int, ...]  # of the corners: slab i lies between heights i and i+1
    unions: tuple[
        tuple[tuple[Span, ...], ...], ...
    ] = ()  # [k][i]: extents of the 2^k slabs from i on, merged

    @property
    def low(self) -> int:
        """Lowest height of the region."""
        return self.heights[0]

    @property
    def high(self) -> int:
        """Highest height of the region."""
        return self.heights[-1]

    def above(self, t: int) -> Slab | None:
        """The slab just above height t; none outside the region."""
        i = bisect_right(self.heights, t) - 1
        return self.slabs[i] if 0 <= i < len(self.slabs) else None

    def united(self, first: int, after: int) -> tuple[Span, ...]:
        """Merged extents of whole slabs from index `first` up to, not including, `after`."""
        if after <= first:
            return ()
        level = (after - first).bit_length() - 1
        if level >= len(self.unions):
            return tuple(merged([extent for slab in self.slabs[first:after] for extent in slab.extents]))
        row = self.unions[level]
        return tuple(merged([*row[first], *row[after - (1 << level)]]))

    def in_band(self, low: int, high: int) -> list[tuple[Slab, int, int]]:
        """The slabs an open band meets, each with the heights between which it meets it."""
        first = max(bisect_right(self.heights, low) - 1, 0)
        met = []
        for slab in self.slabs[first:]:
            if slab.low >= high:
                break
            met.append((slab, max(slab.low, low), min(slab.high, high)))
        return met

    def gaps(self) -> list[Span]:
        """Heights between which nothing is to be covered (an opening from side to side)."""
        found: list[Span] = []
        for slab in self.slabs:
            if not slab.trapezoids:
                low = found.pop()[0] if found and found[-1][1] == slab.low else slab.low
                found.append((low, slab.high))
        return found

    def spans(self, t: int) -> list[Span]:
        """What a level line just above t has inside the region, rounded outward to whole mm."""
        slab = self.above(t)
        found: list[Span] = []
        for left, right in slab.trapezoids if slab is not None else ():
            low, high = left.floor(t), right.ceil(t)
            if found and low <= found[-1][1]:
                low = found.pop()[0]
            if high > low:
                found.append((low, high))
        return found


def slabs_of(rings: Rings) -> Slabs:
    """Cut a region into slabs.

    Raises:
        ValueError: where the rings enclose nothing.
    """
    edges = []
    for ring in rings:
        for (s0, t0), (s1, t1) in pairwise((*ring, ring[0])):
            if t0 < t1:
                edges.append((t0, t1, Side(s0, t0, s1 - s0, t1 - t0)))
            elif t1 < t0:
                edges.append((t1, t0, Side(s1, t1, s0 - s1, t0 - t1)))
    if not edges:
        raise ValueError("The region encloses nothing.")
    edges.sort(key=lambda edge: (edge[0], edge[2].s0, edge[2].ds))
    heights = sorted({height for low, high, _ in edges for height in (low, high)})
    slabs = []
    active: list[tuple[int, int, Side]] = []
    coming = 0
    for low, high in pairwise(heights):
        active = [edge for edge in active if edge[1] > low]
        while coming < len(edges) and edges[coming][0] <= low:
            active.append(edges[coming])
            coming += 1
        middle = (low + high) / 2
        active.sort(key=lambda edge: edge[2].s0 + edge[2].ds * (middle - edge[2].t0) / edge[2].dt)
        sides = [edge[2] for edge in active]
        trapezoids = tuple(
            (left, right)
            for left, right in zip(sides[::2], sides[1::2], strict=True)
            if left.floor(low) != right.ceil(low) or left.floor(high) != right.ceil(high)
        )
        slab = Slab(low, high, trapezoids, ())
        extents = tuple(slab.extent(one, low, high) for one in trapezoids)
        slabs.append(Slab(low, high, trapezoids, extents))
    while slabs and not slabs[-1].trapezoids:
        slabs.pop()
    while slabs and not slabs[0].trapezoids:
        slabs.pop(0)
    if not slabs:
        raise ValueError("The region encloses nothing.")
    unions = _unions(slabs) if len(slabs) > _MANY_SLABS else ()
    return Slabs(tuple(slabs), (slabs[0].low, *(slab.high for slab in slabs)), unions)


def _unions(slabs: list[Slab]) -> tuple[tuple[tuple[Span, ...], ...], ...]:
    """Merged extents of 1, 2, 4, … neighbouring slabs: any number of them is two of these, overlapping."""
    rows = [tuple(tuple(merged(list(slab.extents))) for slab in slabs)]
    size = 1
    while 2 * size <= len(slabs):
        last = rows[-1]
        rows.append(tuple(tuple(merged([*last[i], *last[i + size]])) for i in range(len(last) - size)))
        size *= 2
    return tuple(rows)
