"""The price of a band at every position: which parts of the region it meets, and what its pieces cost."""

from __future__ import annotations

from workers.engine.layout.pieces import Ends, Run, cheapest_runs, merged
from workers.engine.layout.rates import Product
from workers.engine.layout.slabs import Slabs, Span
from workers.engine.layout.steps import Steps, steps


def parts_in(region: Slabs, low: int, high: int) -> list[Span]:
    """The separate extents along the run of the region in the open band from `low` to `high`."""
    extents: list[Span] = []
    for slab, bottom, top in region.in_band(low, high):
        if bottom == slab.low and top == slab.high:
            extents += slab.extents
        else:
            extents += [slab.extent(one, bottom, top) for one in slab.trapezoids]
    return merged(extents)


def runs_in(region: Slabs, product: Product, ends: Ends, low: int) -> tuple[int, tuple[Run, ...]]:
    """The key and the pieces of a band of `product` with its lower edge at `low`."""
    high = low + product.width_mm
    return cheapest_runs(parts_in(region, low, high), product, ends, (low, high))


def band_steps(region: Slabs, product: Product, ends: Ends) -> Steps:
    """The key of a band at every whole-mm position at which it meets the region."""
    first, last = region.low - product.width_mm + 1, region.high - 1
    starts = sorted(
        {first} | {c for h in region.heights for c in (h, h - product.width_mm + 1) if first <= c <= last}
    )
    positions: list[int] = []
    keys: list[int] = []
    known: dict[tuple[Span, ...], int] = {}
    for start, stop in zip(starts, [*starts[1:], last + 1], strict=True):
        constant = _is_constant(region, start, stop - 1, product.width_mm)
        for position in range(start, stop):
            parts = parts_in(region, position, position + product.width_mm)
            long = any(high - low > product.longest_mm for low, high in parts)
            if long:
                found = runs_in(region, product, ends, position)[0]
            else:
                one = tuple(parts)
                if one not in known:
                    known[one] = runs_in(region, product, ends, position)[0]
                found = known[one]
            positions.append(position)
            keys.append(found)
            if constant and not long:
                break
    return steps(positions, keys, last)


def _is_constant(region: Slabs, first: int, last: int, width: int) -> bool:
    """Do bands from `first` to `last` meet the same parts? True where nothing they cut through is slanted."""
    for cut in (region.above(first), region.above(first + width - 1)):
        if cut is not None and first != last and any(side.ds for pair in cut.trapezoids for side in pair):
            return False
    return True
