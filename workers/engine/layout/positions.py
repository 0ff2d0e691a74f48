"""Which positions of bands a cheapest row may need: two sets that each suffice, of which the smaller is taken.

Terms as in `chain.py`. Take a cheapest row. Of two bands that come level, the lower can be dropped at no cost (the
other one stands where it stood), so it is enough to look at rows that keep their order.

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
from workers.engine.layout.rates import NEVER
from workers.engine.layout.steps import Steps

_FEW = 200  # one-sided sets up to this size are taken as they are


def wanted_positions(chain: Chain) -> list[int]:
    """Positions, rising, among which is every one of some cheapest row."""
    reaches = sorted({product.width_mm - chain.lap_mm for product in chain.products})
    upwards = _closed(chain, _stops(chain), reaches)
    if len(upwards) <= _FEW:
        return upwards
    both_ways = _closed(chain, _anchors(chain), [*reaches, *(-reach for reach in reaches)])
    return min(upwards, both_ways, key=len)


def _closed(chain: Chain, seeds: set[int], moves: list[int]) -> list[int]:
    """The seeds and all that follows by moves, without positions where no lap may be; rising."""
    start = min(steps.starts[0] for steps in chain.bands)
    open_ = _allowed(chain, start)
    waiting = [seed - start for seed in seeds if open_[seed - start]]
    found: list[int] = []
    for here in waiting:
        open_[here] = 0
    while waiting:
        here = waiting.pop()
        found.append(here + start)
        for move in moves:
            there = here + move
            if 0 <= there < len(open_) and open_[there]:
                open_[there] = 0
                waiting.append(there)
    found.sort()
    return found


def _allowed(chain: Chain, start: int) -> bytearray:
    """For every position from `start` below the high edge: 1 where a band may stand at all."""
    allowed = bytearray(b"\x01") * (chain.high - start)
    laps = chain.laps
    for i, (first, lap) in enumerate(zip(laps.starts, laps.keys, strict=True)):
        if lap >= NEVER:
            after = laps.starts[i + 1] if i + 1 < len(laps.starts) else chain.high
            begin = max(first, chain.low + 1)
            allowed[begin - start : after - start] = bytes(after - begin)
    for foot, top in chain.gaps:
        allowed[foot - start : top + 1 - start] = b"\x01" * (top + 1 - foot)
    return allowed


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
