"""Stretches of heights where no band of a cheapest row can stand, found by looking at a few centimetres at a time.

The heights are cut into cells. In a cell every band is taken to cost what the cheapest there costs, the same for a
lap, and a cell can be reached from another as soon as any of its heights can from any of the other's. The cheapest
row through each cell under these easy terms costs no more than any true row through it; where that is more than a
row already known, the cell is left out.
"""

from __future__ import annotations

import numpy as np

from workers.engine.layout.prices import Prices
from workers.engine.layout.problem import Chain
from workers.engine.layout.rates import FORBIDDEN
from workers.engine.layout.slabs import Span

CELL_MM = 40


def worth_looking_at(chain: Chain, known: int) -> list[Span]:
    """Stretches of heights, from and to (not included), outside of which every row costs more than `known`.

    `known` is the cost in units of some row of this chain, which has no gaps.
    """
    start = chain.start
    count = -(-(chain.high - start) // CELL_MM)
    bands = [_least(prices, start, count) for prices in chain.bands]
    laps = _least(chain.laps, start, count)
    first_later = (chain.low - start) // CELL_MM  # the cell of the low edge: its bands may be first ones
    spread = [(CELL_MM - 1 + product.width_mm - chain.lap_mm) // CELL_MM for product in chain.products]
    arrive = [0] * (first_later + 1) + [FORBIDDEN] * (count - first_later - 1)
    stand: list[list[int]] = [[] for _ in bands]
    for cell in range(count):
        if cell > first_later:
            near = (min(keys[max(cell - reach, 0) :]) for keys, reach in zip(stand, spread, strict=True))
            arrive[cell] = min(near) + laps[cell]
        for keys, band in zip(stand, bands, strict=True):
            keys.append(arrive[cell] + band[cell])
    kept = bytearray(count)
    onward = [FORBIDDEN] * count  # least cost from a cell up: a lap there, a band there and all above
    for cell in range(count - 1, -1, -1):
        last = start + (cell + 1) * CELL_MM - 1
        rests = [
            0
            if last + product.width_mm >= chain.high
            else min(onward[cell + 1 : cell + 1 + reach], default=FORBIDDEN)
            for product, reach in zip(chain.products, spread, strict=True)
        ]
        onward[cell] = laps[cell] + min(band[cell] + rest for band, rest in zip(bands, rests, strict=True))
        rests = [min(rest, onward[cell]) for rest in rests]
        kept[cell] = any(keys[cell] + rest <= known for keys, rest in zip(stand, rests, strict=True))
    found: list[Span] = []
    for cell in range(count):
        if kept[cell]:
            begin, end = start + cell * CELL_MM, min(start + (cell + 1) * CELL_MM, chain.high)
            if found and found[-1][1] == begin:
                begin = found.pop()[0]
            found.append((begin, end))
    return found


def _least(prices: Prices, start: int, count: int) -> list[int]:
    """The least cost in each cell; too much where there is no price."""
    whole = np.full(count * CELL_MM, FORBIDDEN, dtype=np.int64)
    whole[prices.first - start : prices.last + 1 - start] = prices.costs
    return [int(one) for one in whole.reshape(count, CELL_MM).min(axis=1)]
