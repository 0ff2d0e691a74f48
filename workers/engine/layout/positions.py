"""Which positions of bands a cheapest row may need: two sets that each suffice, of which the smaller is taken.

Terms as in `chain.py`. Take a cheapest row. A band that comes level with the one above it can be dropped at no cost
(what stood on it can stand on the other), so it is enough to look at rows that keep their order.

**One-sided.** From the lowest band to the highest, move each band up by single millimetres while its own D does
not grow. Moving a band up never harms the one above: its reach rises, as does the last band's end. So the row never
gets dearer, and afterwards each band stands at the reach of the one below, at a *stop* (the next position is
dearer), at the region's low edge (the first band), or at the top of a gap. All such positions come out of the
stops, the low edge and the gap tops by adding reaches again and again.

**Two-sided.** A *block* is a run of neighbouring bands each standing exactly at the reach of the one below, as long
as possible. Moving a whole block by a millimetre up or down changes the cost by the sum of its D's differences. If D
bends upward (D(t+1) + D(t−1) > 2·D(t)) at none of the block's positions, the sum of both changes is at most zero, so
one of the moves is free or a gain, and can be repeated (the same way while it stays free) until a band of the block
comes to a *bend* upward, the block meets another one (they join: there are fewer blocks), or an end condition holds:
the first band at the low edge or the last position at which it meets the region, the last band ending at the high
edge, a band ending at the foot of a gap, starting at its foot or its top. So each block may be taken to have a band at
a bend or at such an end, an *anchor*; all positions come out of the anchors by adding or taking away reaches.

Nothing else is assumed of C and L. Slanted edges, rounding to the cut step, penalties and laps that must lie on
members only decide where the stops and the bends are.
"""

from __future__ import annotations

from collections.abc import Iterator

from workers.engine.layout.problem import Chain
from workers.engine.layout.steps import Steps


def wanted_positions(chain: Chain) -> list[int]:
    """Positions, rising, among which is every one of some cheapest row."""
    start = min(steps.starts[0] for steps in chain.bands)
    stops = sorted(_stops(chain))
    anchors = sorted(_anchors(chain))
    if len(stops) <= 2 * len(anchors) * (2 + (chain.high - chain.low) // chain.products[0].width_mm):
        return _upwards(chain, start, stops)
    return _both_ways(chain, start, anchors)


def _reaches(chain: Chain) -> list[int]:
    return sorted({product.width_mm - chain.lap_mm for product in chain.products})


def _upwards(chain: Chain, start: int, seeds: list[int]) -> list[int]:
    wanted = bytearray(chain.high - start)
    for seed in seeds:
        wanted[seed - start] = 1
    reaches = _reaches(chain)
    found: list[int] = []
    here = wanted.find(1)
    while here >= 0:
        found.append(here + start)
        for reach in reaches:
            if chain.low - start < here + reach < len(wanted):
                wanted[here + reach] = 1
        here = wanted.find(1, here + 1)
    return found


def _both_ways(chain: Chain, start: int, seeds: list[int]) -> list[int]:
    wanted = bytearray(chain.high - start)
    reaches = _reaches(chain)
    waiting = [seed - start for seed in seeds]
    for here in waiting:
        wanted[here] = 1
    while waiting:
        here = waiting.pop()
        for reach in reaches:
            for there in (here - reach, here + reach):
                if 0 <= there < len(wanted) and not wanted[there]:
                    wanted[there] = 1
                    waiting.append(there)
    found: list[int] = []
    here = wanted.find(1)
    while here >= 0:
        found.append(here + start)
        here = wanted.find(1, here + 1)
    return found


def _stops(chain: Chain) -> set[int]:
    found = {chain.low, *(top for _, top in chain.gaps)}
    for bands in chain.bands:
        for first, last, slope, jump in _first_bands(chain, bands):
            if slope > 0:
                found.update(range(first, last))
            if jump > 0:
                found.add(last)
        for first, last, slope, jump in _later_bands(chain, bands):
            if slope > 0:
                found.update(range(first, last))
            if jump > 0:
                found.add(last)
    return found


def _anchors(chain: Chain) -> set[int]:
    found = {chain.low}
    for product, bands in zip(chain.products, chain.bands, strict=True):
        found |= {bands.starts[0], chain.high - product.width_mm, chain.high - 1}
        for foot, top in chain.gaps:
            found |= {foot - product.width_mm, foot, top}
        for stretches in (_first_bands(chain, bands), _later_bands(chain, bands)):
            arriving: int | None = None  # the difference that leads to the stretch's first position
            for first, last, slope, jump in stretches:
                if arriving is not None and (slope if last > first else jump) > arriving:
                    found.add(first)
                if last > first and jump > slope:
                    found.add(last)
                arriving = jump
    least = min(bands.starts[0] for bands in chain.bands)
    return {position for position in found if least <= position < chain.high}


_Piece = tuple[int, int, int, int]  # first and last position, slope, and the jump from the last to the next


def _first_bands(chain: Chain, bands: Steps) -> Iterator[_Piece]:
    """Straight stretches of D for a first band: C up to the low edge."""
    for i, start in enumerate(bands.starts):
        if start > chain.low:
            return
        after = bands.starts[i + 1] if i + 1 < len(bands.starts) else bands.last + 1
        last = min(after - 1, chain.low)
        jump = bands.keys[i + 1] - bands.at(last) if last + 1 == after and i + 1 < len(bands.starts) else 0
        yield start, last, bands.slopes[i], jump


def _later_bands(chain: Chain, bands: Steps) -> Iterator[_Piece]:
    """Straight stretches of D for the other bands: C + L above the low edge."""
    laps = chain.laps
    starts = sorted(
        {chain.low + 1, *(s for steps in (bands, laps) for s in steps.starts if s > chain.low + 1)}
    )
    if starts[0] >= chain.high:
        return
    here = list(zip(bands.along(starts), laps.along(starts), strict=True))
    keys = [band + lap for band, lap in here]
    for i, start in enumerate(starts):
        after = starts[i + 1] if i + 1 < len(starts) else chain.high
        last = after - 1
        end = bands.at(last) + laps.at(last)
        slope = (end - keys[i]) // (last - start) if last > start else 0
        yield start, last, slope, keys[i + 1] - end if i + 1 < len(starts) else 0
