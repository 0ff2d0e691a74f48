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

import numpy as np
from numpy.typing import NDArray

from workers.engine.layout.prices import Whole
from workers.engine.layout.problem import Chain
from workers.engine.layout.rates import FORBIDDEN
from workers.engine.layout.slabs import Span

Flags = NDArray[np.bool_]
_FEW = 400  # sets up to this size are taken as they are


def likely_positions(chain: Chain) -> list[int]:
    """A few positions, rising, that hold some good row where there is one: flush ones and the tops of members."""
    forbidden = chain.laps.costs >= FORBIDDEN
    tops = np.flatnonzero(forbidden[1:] & ~forbidden[:-1]) + chain.low
    flush = [chain.high - product.width_mm for product in chain.products]
    return _closed(chain, _flags(chain, [chain.low, *flush], tops), _reaches(chain), None)


def wanted_positions(chain: Chain, where: list[Span] | None = None) -> list[int]:
    """Positions, rising, among which is every one of some cheapest row.

    `where`: stretches outside of which no cheapest row has a band; everywhere if not given.
    """
    if where is not None and sum(stop - start for start, stop in where) <= _FEW:
        return [position for start, stop in where for position in range(start, stop)]
    one_sided = upwards(chain, where)
    return one_sided if len(one_sided) <= _FEW else min(one_sided, both_ways(chain, where), key=len)


def upwards(chain: Chain, where: list[Span] | None = None) -> list[int]:
    """The one-sided set: stops and all that follows by adding reaches."""
    return _closed(chain, _stops(chain), _reaches(chain), where)


def both_ways(chain: Chain, where: list[Span] | None = None) -> list[int]:
    """The two-sided set: anchors and all that follows by adding and taking away reaches."""
    moves = [move for reach in _reaches(chain) for move in (reach, -reach)]
    return _closed(chain, _anchors(chain), moves, where)


def _reaches(chain: Chain) -> list[int]:
    return sorted({product.width_mm - chain.lap_mm for product in chain.products})


def _flags(chain: Chain, ends: list[int], *found: Whole) -> Flags:
    """Flags from the start below the high edge, set at some positions; those outside are left out."""
    flags = np.zeros(chain.high - chain.start, dtype=np.bool_)
    for positions in found:
        flags[positions - chain.start] = True
    for position in ends:
        if chain.start <= position < chain.high:
            flags[position - chain.start] = True
    return flags


def _closed(chain: Chain, seeds: Flags, moves: list[int], where: list[Span] | None) -> list[int]:
    """The seeds and all that follows by moves, without positions where no lap may be or outside `where`; rising."""
    left = _allowed(chain, where)
    newest = seeds & left
    found = np.zeros_like(left)
    while newest.any():
        found |= newest
        left &= ~newest
        onward = np.zeros_like(left)
        for move in moves:
            if move > 0:
                onward[move:] |= newest[:-move]
            else:
                onward[:move] |= newest[-move:]
        newest = onward & left
    return [int(position) for position in (np.flatnonzero(found) + chain.start).tolist()]


def _allowed(chain: Chain, where: list[Span] | None) -> Flags:
    """For every position from the start below the high edge: may a band stand there at all?"""
    start = chain.start
    allowed = np.ones(chain.high - start, dtype=np.bool_)
    allowed[chain.low + 1 - start :] = chain.laps.costs[1:] < FORBIDDEN
    for foot, top in chain.gaps:
        allowed[foot - start : top + 1 - start] = True
    if where is not None:
        inside = np.zeros_like(allowed)
        for first, after in where:
            inside[first - start : after - start] = True
        allowed &= inside
    return allowed


def _stops(chain: Chain) -> Flags:
    """Positions whose next one is dearer, the low edge, and the tops of gaps."""
    found = []
    for first, costs, ties in _standing(chain):
        more, tied = np.diff(costs), np.diff(ties)
        found.append(np.flatnonzero((more > 0) | ((more == 0) & (tied > 0))) + first)
    return _flags(chain, [chain.low, *(top for _, top in chain.gaps)], *found)


def _anchors(chain: Chain) -> Flags:
    """Positions where a price bends upward, and those where an end condition holds."""
    ends = [chain.low, chain.high - 1]
    for product, prices in zip(chain.products, chain.bands, strict=True):
        ends += [prices.first, chain.high - product.width_mm]
        for foot, top in chain.gaps:
            ends += [foot - product.width_mm, foot, top]
    found = []
    for first, costs, ties in _standing(chain):
        more, tied = np.diff(costs, 2), np.diff(ties, 2)
        found.append(np.flatnonzero((more > 0) | ((more == 0) & (tied > 0))) + first + 1)
    return _flags(chain, ends, *found)


def _standing(chain: Chain) -> Iterator[tuple[int, Whole, Whole]]:
    """D of each membrane: as a first band up to the low edge, then as a later one above it."""
    for prices in chain.bands:
        first = chain.low - prices.first + 1  # rows of first bands
        yield prices.first, prices.costs[:first], prices.ties[:first]
        yield (
            chain.low + 1,
            prices.costs[first:] + chain.laps.costs[1:],
            prices.ties[first:] + chain.laps.ties[1:],
        )
