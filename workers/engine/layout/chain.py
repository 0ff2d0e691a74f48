"""The cheapest row of bands over a region: exact over every whole-mm position and every mixture of roll widths.

**The problem.** A row is t₁ < t₂ < … < tₙ with a membrane for each. Band k covers the heights from t_k to
t_k + w_k. The first must start at or below the region (t₁ ≤ low), the last must end at or above it (t_n + w_n ≥
high), and the next must start no higher than the *reach* of the one below, t_k + w_k − lap; or else, where the band
below ends in or beyond a gap of the region (an opening from side to side), it may start anywhere in that gap, and
there is no lap. The cost is Σ C(t_k) over all bands + Σ L(t_k) over all laps: C the key of a band, L the key of a
lap with its joint line at t, two functions on whole millimetres. D = C for the first band, C + L for the others.

**Which positions suffice** is decided in `positions.py`, with the proof. Over those positions the shortest path is
found here in one sweep upwards: a queue for each membrane keeps the bands that a next band could still stand on,
cheapest first, so every position is met once.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from workers.engine.layout.coarse import worth_looking_at
from workers.engine.layout.positions import likely_positions, wanted_positions
from workers.engine.layout.problem import Chain, Row
from workers.engine.layout.rates import NEVER, cost_in, key

_MANY = 600  # positions; with more of them it pays to rule out heights first


@dataclass(slots=True)
class _Sweep:
    """What a sweep carries from position to position. A label is (position, product, label below)."""

    labels: list[tuple[int, int, int]]
    waiting: list[deque[tuple[int, int, int]]]  # by product: (reach, key, label), keys rising
    over_gap: list[tuple[int, int]]  # by gap: the cheapest (key, label) that ends in or beyond it
    best: tuple[int, int]


def cheapest_row(chain: Chain) -> tuple[int, Row] | None:
    """The row with the smallest key, and that key; None where laps on members cannot cover the region."""
    positions = wanted_positions(chain)
    if len(positions) > _MANY and not chain.gaps:
        known = row_over(chain, likely_positions(chain))
        if known is not None:
            positions = wanted_positions(chain, worth_looking_at(chain, cost_in(known[0])))
    return row_over(chain, positions)


def row_over(chain: Chain, positions: list[int]) -> tuple[int, Row] | None:
    """The row with the smallest key among those whose bands stand at rising `positions` only."""
    sweep = _Sweep([], [deque() for _ in chain.products], [(NEVER, -1)] * len(chain.gaps), (NEVER, -1))
    laps = chain.laps.keys(positions)
    bands = [
        (number, product.width_mm, prices.keys(positions))
        for number, (product, prices) in enumerate(zip(chain.products, chain.bands, strict=True))
    ]
    for at, position in enumerate(positions):
        arrived, below = _arrive(chain, sweep, position, laps[at])
        for number, width, keys in bands:
            total = arrived + keys[at]
            if total < sweep.best[0]:
                _stand(chain, sweep, (position, number, below), total, position + width)
    if sweep.best[1] < 0:
        return None
    return sweep.best[0], _row(sweep.labels, sweep.best[1])


def _arrive(chain: Chain, sweep: _Sweep, position: int, lap: int) -> tuple[int, int]:
    """The cheapest way to be allowed to start a band here: its key and the label of the band below, −1 for none."""
    if position <= chain.low:
        return key(offset_mm=chain.low - position), -1
    best = (NEVER, -1)
    for queue in sweep.waiting:
        while queue and queue[0][0] < position:
            queue.popleft()
        if queue and queue[0][1] + lap < best[0]:
            best = (queue[0][1] + lap, queue[0][2])
    for (low, high), over in zip(chain.gaps, sweep.over_gap, strict=True):
        if low <= position <= high and over[0] < best[0]:
            best = over
    return best


def _stand(chain: Chain, sweep: _Sweep, band: tuple[int, int, int], total: int, end: int) -> None:
    """Note a band that can stand here at that total key."""
    label = len(sweep.labels)
    sweep.labels.append(band)
    if end >= chain.high:
        sweep.best = (total, label)
        return
    queue = sweep.waiting[band[1]]
    while queue and queue[-1][1] >= total:
        queue.pop()
    queue.append((end - chain.lap_mm, total, label))
    for number, (low, _) in enumerate(chain.gaps):
        if end >= low and total < sweep.over_gap[number][0]:
            sweep.over_gap[number] = (total, label)


def _row(labels: list[tuple[int, int, int]], label: int) -> Row:
    row: list[tuple[int, int]] = []
    while label >= 0:
        position, product, label = labels[label]
        row.append((position, product))
    return tuple(reversed(row))
