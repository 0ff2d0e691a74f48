"""The cheapest row of bands over a region: exact over every whole-mm position and every mixture of roll widths.

**The problem.** A row is t₁ < t₂ < … < tₙ with a membrane for each. Band k covers the heights from t_k to
t_k + w_k. The first must start at or below the region (t₁ ≤ low), the last must end at or above it, and the next
must start no higher than the *reach* of the one below: t_k + w_k − lap; or, where the band below ends in or beyond
a gap of the region (an opening from side to side), the top of that gap, without a lap. The cost is Σ C(t_k) + Σ L(t_k), k ≥ 2
for L, with C the key of a band and L the key of a lap: two functions on whole millimetres.

**Which positions suffice.** Take a cheapest row and let the bands, from the lowest to the highest, each move up as
far as it may by single millimetres without its own C + L (C alone for the first) growing at any step. A move up
never breaks a bound towards the band above: it only raises this band's reach, and the last band's upper end. So the
whole row never gets dearer, and afterwards every band stands (a) at the reach of the band below it, or (b) at a
*stop*: a position whose next position is dearer; or (c), the first one only, at the region's low edge; or, over a
gap, at the gap's top. A band that would pass the next one above is left where it is level with it and the row
without it is no dearer, so the order stays. Hence all cheapest rows are met by the positions that are stops, the
low edge and tops of gaps, and whatever follows from these by adding reaches of any membrane: `_positions`. Over
them a shortest path is found exactly. Nothing is assumed of C and L: slanted edges, rounding to the cut step,
penalties and laps that must lie on members only decide where the stops are.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from workers.engine.layout.rates import NEVER, Product, key
from workers.engine.layout.slabs import Span
from workers.engine.layout.steps import Steps

Row = tuple[tuple[int, int], ...]  # (lower edge, index of the product) from the lowest band up


@dataclass(frozen=True, slots=True)
class Chain:
    """What a row is chosen from."""

    low: int
    high: int
    gaps: tuple[Span, ...]
    lap_mm: int
    products: tuple[Product, ...]
    bands: tuple[Steps, ...]  # by product
    laps: Steps

    def reach(self, position: int, product: int) -> int:
        """The highest position of the next band with a lap."""
        return position + self.products[product].width_mm - self.lap_mm


def cheapest_row(chain: Chain) -> tuple[int, Row] | None:
    """The row with the smallest key, and that key; None where laps on members cannot cover the region."""
    positions = _positions(chain)
    waiting: list[deque[tuple[int, int, int]]] = [deque() for _ in chain.products]  # (position, key, label)
    labels: list[tuple[int, int, int]] = []  # position, product, label before
    best: tuple[int, int] = (NEVER, -1)
    finished: list[tuple[int, int, int]] = []
    for position in positions:
        arrived, before = _arrive(chain, position, waiting, labels, finished)
        if arrived >= NEVER:
            continue
        for product, steps in enumerate(chain.bands):
            if position < steps.starts[0]:
                continue
            total = arrived + steps.at(position)
            labels.append((position, product, before))
            label = len(labels) - 1
            if position + chain.products[product].width_mm >= chain.high:
                best = min(best, (total, label))
                continue
            queue = waiting[product]
            while queue and queue[-1][1] >= total:
                queue.pop()
            queue.append((position, total, label))
            if chain.gaps:
                finished.append((position + chain.products[product].width_mm, total, label))
    if best[1] < 0:
        return None
    row = []
    label = best[1]
    while label >= 0:
        position, product, label = labels[label]
        row.append((position, product))
    return best[0], tuple(reversed(row))


def _arrive(
    chain: Chain,
    position: int,
    waiting: list[deque[tuple[int, int, int]]],
    labels: list[tuple[int, int, int]],
    finished: list[tuple[int, int, int]],
) -> tuple[int, int]:
    """The cheapest way to be allowed to start a band here: its key and the label of the band below, −1 for none."""
    if position <= chain.low:
        return key(offset_mm=chain.low - position), -1
    lap = chain.laps.at(position)
    best = (NEVER, -1)
    for product, queue in enumerate(waiting):
        while queue and chain.reach(queue[0][0], product) < position:
            queue.popleft()
        if queue and lap < NEVER:
            best = min(best, (queue[0][1] + lap, queue[0][2]))
    for low, high in chain.gaps:
        if low <= position <= high:
            for end, total, label in finished:
                if end >= low and labels[label][0] < position:
                    best = min(best, (total, label))
    return best


def _positions(chain: Chain) -> list[int]:
    """Every position that a cheapest row may need, upwards; see the module's text for why no other is needed."""
    start = min(steps.starts[0] for steps in chain.bands)
    wanted = bytearray(chain.high - start)
    wanted[chain.low - start] = 1
    for steps in chain.bands:
        for stop in _stops(chain, steps):
            wanted[stop - start] = 1
    for _, top in chain.gaps:
        wanted[top - start] = 1
    found: list[int] = []
    here = wanted.find(1)
    while here >= 0:
        position = here + start
        found.append(position)
        for number, product in enumerate(chain.products):
            reach = chain.reach(position, number)
            if (
                chain.low < reach < chain.high
                and position + product.width_mm < chain.high
                and reach > position
            ):
                wanted[reach - start] = 1
        here = wanted.find(1, here + 1)
    return found


def _stops(chain: Chain, bands: Steps) -> list[int]:
    """Positions whose next position is dearer: C alone up to the region's low edge, C + L above it."""
    found = [
        later - 1
        for later, before, after in zip(bands.starts[1:], bands.keys, bands.keys[1:], strict=False)
        if after > before and later - 1 <= chain.low
    ]
    changes = sorted({c for c in (*bands.starts, *chain.laps.starts) if c > chain.low + 1})
    for change in changes:
        before = bands.at(change - 1) + chain.laps.at(change - 1)
        after = bands.at(change) + chain.laps.at(change)
        if after > before:
            found.append(change - 1)
    return found
