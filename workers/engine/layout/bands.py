"""The price of a band at every position: which parts of the region it meets, and what its pieces cost.

Between two positions at which an edge of the band passes a corner of the region, the band meets the same
trapezoids; only the ends of those it cuts through can move. Where nothing slanted is cut, its parts stay the same
and the price changes with the length of end laps at most; else every whole mm is worked out, in one go.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right

import numpy as np
from numpy.typing import NDArray

from workers.engine.layout.long_strips import long_costs
from workers.engine.layout.pieces import Ends, Joint, Place, Run, cheapest_runs
from workers.engine.layout.prices import Prices, Whole, no_prices
from workers.engine.layout.rates import FORBIDDEN, Product, parted_key, tie
from workers.engine.layout.slabs import Side, Slab, Slabs, Span, merged

_SHORT = 8  # heights that are sooner worked out one by one


def parts_in(region: Slabs, low: int, high: int) -> list[Span]:
    """The separate extents along the run of the region in the open band from `low` to `high`."""
    inner = bisect_left(region.heights, low)  # the first slab above the lower edge
    outer = bisect_right(region.heights, high) - 1  # the first slab that reaches past the upper edge
    extents = list(region.united(inner, outer))
    for slab in _cut_slabs(region, inner, outer):
        bottom, top = max(slab.low, low), min(slab.high, high)
        if bottom < top:
            extents += [slab.extent(one, bottom, top) for one in slab.trapezoids]
    return merged(extents)


def runs_in(region: Slabs, product: Product, ends: Ends, low: int) -> tuple[int, tuple[Run, ...]]:
    """The key and the pieces of a band of `product` with its lower edge at `low`."""
    high = low + product.width_mm
    return cheapest_runs(parts_in(region, low, high), product, ends, (low, high))


def band_prices(region: Slabs, product: Product, ends: Ends) -> tuple[Prices, bool]:
    """The price of a band at every whole-mm position at which it meets the region, and whether all are exact."""
    first, last = region.low - product.width_mm + 1, region.high - 1
    prices = no_prices(first, last)
    exact = not ends.many
    changes = {c for h in region.heights for c in (h, h - product.width_mm + 1) if first < c <= last}
    starts = [first, *sorted(changes)]
    for start, after in zip(starts, [*starts[1:], last + 1], strict=True):
        if after - start <= _SHORT:
            for position in range(start, after):
                prices.put(position, position + 1, *parted_key(runs_in(region, product, ends, position)[0]))
            continue
        moving, fixed = _extents(region, start, after - 1, product.width_mm)
        if not moving and (not fixed or fixed[-1][1] - fixed[0][0] <= product.longest_mm):
            found = cheapest_runs(fixed, product, ends, (start, start + product.width_mm))[0]
            prices.put(start, after, *parted_key(found))
        elif moving or _cuts_slants(region, start, after - 1, product.width_mm):
            exact &= _slanted(product, ends, prices, (start, after - 1), [*moving, *fixed])
        else:
            _bowed(region, product, ends, prices, (start, after - 1))
    return prices, exact


def _cuts_slants(region: Slabs, first: int, last: int, width: int) -> bool:
    """Do the edges of bands from `first` to `last` pass through anything with slanted sides?"""
    cut = (region.above(first), region.above(first + width - 1))
    return first < last and any(side.ds for slab in cut if slab for pair in slab.trapezoids for side in pair)


_Ends = tuple[int | Whole, int | Whole]


def _extents(region: Slabs, first: int, last: int, width: int) -> tuple[list[_Ends], list[Span]]:
    """Extents met by bands from `first` to `last`: those that move, by position, and the fixed ones merged."""
    moving: list[_Ends] = []
    heights = region.heights
    inner = bisect_left(heights, last)  # the first slab that lies above every lower edge
    outer = bisect_right(heights, first + width) - 1  # the first that reaches past the lowest upper edge
    fixed = list(region.united(inner, outer))
    positions = np.arange(first, last + 1, dtype=np.int64)
    for slab in _cut_slabs(region, inner, outer):
        bottom: int | Whole = slab.low if slab.low >= last else positions
        top: int | Whole = slab.high if slab.high <= first + width else positions + width
        for left, right in slab.trapezoids:
            low_end = _floor(left, bottom if left.ds > 0 else top)
            high_end = _ceil(right, top if right.ds > 0 else bottom)
            if isinstance(low_end, int) and isinstance(high_end, int):
                fixed.append((low_end, high_end))
            else:
                moving.append((low_end, high_end))
    return moving, merged(fixed)


def _cut_slabs(region: Slabs, inner: int, outer: int) -> list[Slab]:
    """The slabs that the lower and the upper edge of a band cut through: one each, one for both, or none."""
    cut = []
    if 0 < inner <= len(region.slabs):
        cut.append(region.slabs[inner - 1])
    if 0 <= outer < len(region.slabs) and outer >= inner:
        cut.append(region.slabs[outer])
    return cut


def _floor(side: Side, t: int | Whole) -> int | Whole:
    """`Side.floor` for one height or many; a square side does not move."""
    return side.s0 + side.ds * (t - side.t0) // side.dt if side.ds else side.s0


def _ceil(side: Side, t: int | Whole) -> int | Whole:
    """`Side.ceil` for one height or many."""
    return side.s0 - (-side.ds * (t - side.t0)) // side.dt if side.ds else side.s0


def _slanted(product: Product, ends: Ends, prices: Prices, where: Span, extents: list[_Ends]) -> bool:
    """Work out every position of a cell where the ends of parts or end laps move with it; is every one exact?"""
    lows = np.empty((len(extents), where[1] - where[0] + 1), dtype=np.int64)
    highs = np.empty_like(lows)
    for row, (low, high) in enumerate(extents):
        lows[row] = low
        highs[row] = high
    if len(lows) > 1:
        order = np.argsort(lows, axis=0, kind="stable")
        lows = np.take_along_axis(lows, order, axis=0)
        highs = np.maximum.accumulate(np.take_along_axis(highs, order, axis=0), axis=0)
        starts = [
            0,
            *(np.flatnonzero((lows[1:] > highs[:-1]).any(axis=1)) + 1).tolist(),
        ]  # of parts, somewhere
        lows, highs = lows[starts], highs[[*(start - 1 for start in starts[1:]), len(highs) - 1]]
    positions = np.arange(where[0], where[1] + 1, dtype=np.int64)
    starts_part = np.ones(lows.shape, dtype=np.bool_)  # nothing before it touches it
    starts_part[1:] = lows[1:] > highs[:-1]
    coverable = np.ones(lows.shape, dtype=np.bool_)  # the gap before it may be worth covering
    coverable[1:] = product.by_mm * (lows[1:] - highs[:-1] - 2 * product.step_mm) <= product.piece
    costs = np.zeros(
        (len(lows) + 1, len(positions)), dtype=np.int64
    )  # row k: the cheapest for the first k parts
    pieces = np.zeros_like(costs)
    exact = True
    for last in range(len(lows)):
        first = last  # of the parts from which a row to `last` is worth weighing anywhere
        together = [np.ones(len(positions), dtype=np.bool_)]
        while first and (reached := together[-1] & coverable[first]).any():
            first -= 1
            together.append(reached)
        usable = np.array(together[::-1]) & starts_part[first : last + 1]
        here, parts, sure = _row_costs(lows[first : last + 1], highs[last], positions, usable, product, ends)
        exact &= sure
        here = np.where(usable, here + costs[first : last + 1], FORBIDDEN)
        parts = parts + pieces[first : last + 1]
        least = here.min(axis=0)
        costs[last + 1] = np.minimum(least, FORBIDDEN)
        pieces[last + 1] = np.where(here == least, parts, np.iinfo(np.int64).max).min(axis=0)
    prices.put(where[0], where[1] + 1, costs[-1], pieces[-1] * tie(1))
    return exact


def _row_costs(
    lows: Whole, high: Whole, positions: Whole, usable: NDArray[np.bool_], product: Product, ends: Ends
) -> tuple[Whole, Whole, bool]:
    """Cost and pieces of rows without a gap, each from one of `lows` to `high`, by position; is every one exact?

    `lows` and `usable` have a line for each row; what is not usable is not worked out where that takes long.
    """
    extent = high - lows
    cut = np.minimum(-(-extent // product.step_mm) * product.step_mm, product.roll_mm)
    costs: Whole = cut * product.by_mm + product.piece
    pieces = np.ones_like(costs)
    long = (extent > product.longest_mm) & usable
    if not long.any():
        return costs, pieces, True
    _, columns = np.nonzero(long)
    costs[long], pieces[long], exact = long_costs(
        lows[long], high[columns], positions[columns], product, ends
    )
    return costs, pieces, exact


def _bowed(region: Slabs, product: Product, ends: Ends, prices: Prices, where: Span) -> None:
    """Work out positions where the parts stay the same but the length of end laps changes.

    Each choice of joints costs a straight line over these positions and the cheapest is taken, so the price is
    concave: it is straight between two positions as soon as the line of one end's choice meets the other end.
    """
    first, last = where
    at_first, runs = runs_in(region, product, ends, first)
    cost, tied = parted_key(at_first)
    growth = sum(
        _length(ends, joint, last, product) - joint.length_mm for run in runs for joint in run.joints
    )
    if parted_key(runs_in(region, product, ends, last)[0]) == (cost + ends.by_mm * growth, tied):
        slope = ends.by_mm * growth // max(last - first, 1)
        prices.put(first, last + 1, cost + slope * np.arange(last - first + 1, dtype=np.int64), tied)
        return
    middle = (first + last) // 2
    _bowed(region, product, ends, prices, (first, middle))
    _bowed(region, product, ends, prices, (middle + 1, last))


def _length(ends: Ends, joint: Joint, position: int, product: Product) -> int:
    """Length of a joint were the band at `position`."""
    place = Place(joint.at_mm, tuple(ends.sections.spans(joint.at_mm)))
    return place.length((position, position + product.width_mm))
