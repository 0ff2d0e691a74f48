"""How far the ends of a piece may be cut at a slant: the steepest straight line that leaves all of the region covered."""

from __future__ import annotations

from collections.abc import Iterator

from workers.engine.layout.slabs import Slabs, Span

_Outer = tuple[
    int, int, int
]  # how far the region stays inside an end at a height: numerator, denominator, height


def end_slants(region: Slabs, band: Span, row: Span) -> tuple[int, int]:
    """How much a straight end from edge to edge may leave off at the start and at the end of a row of pieces.

    `band` is the lower and upper edge of the strip as cut, `row` its extent along the run. More than 0: off the upper
    edge; less than 0: off the lower edge; 0: square. Rounded toward square, so that nothing is left uncovered.
    """
    inside = list(_inside(region, band, row))
    starts = [start for start, _ in inside]
    stops = [stop for _, stop in inside]
    return _steepest(starts, band, row), _steepest(stops, band, row)


def _inside(region: Slabs, band: Span, row: Span) -> Iterator[tuple[_Outer, _Outer]]:
    """At both heights of every trapezoid of the row: how far inside the row's start and stop it lies."""
    for slab, bottom, top in region.in_band(*band):
        for left, right in slab.trapezoids:
            low = min(left.floor(bottom), left.floor(top))
            high = max(right.ceil(bottom), right.ceil(top))
            if high <= row[0] or low >= row[1]:
                continue
            for t in (bottom, top):
                yield (
                    ((left.s0 - row[0]) * left.dt + left.ds * (t - left.t0), left.dt, t),
                    ((row[1] - right.s0) * right.dt - right.ds * (t - right.t0), right.dt, t),
                )


def _steepest(inside: list[_Outer], band: Span, row: Span) -> int:
    low, high = band
    width, extent = high - low, row[1] - row[0]
    upper = [by * width // (part * (t - low)) for by, part, t in inside if t > low]
    lower = [by * width // (part * (high - t)) for by, part, t in inside if t < high]
    off_upper = max(0, min([extent, *upper]))
    off_lower = max(0, min([extent, *lower]))
    return off_upper if off_upper >= off_lower else -off_lower
