"""Strips too long for one piece, priced at many positions in one go: `pieces.py` for whole columns of numbers.

The same rule: as few pieces as will do, joined on members where they can be, and the cheapest of such rows.
"""

from __future__ import annotations

import numpy as np

from workers.engine.layout.pieces import Ends, joined_run
from workers.engine.layout.prices import Whole
from workers.engine.layout.rates import FORBIDDEN, Product, parted_key

_AT_ONCE = 1_500_000  # numbers held at a time
_ONE_BY_ONE = 2500  # positions worked out one by one at most


def long_costs(
    lows: Whole, highs: Whole, positions: Whole, product: Product, ends: Ends
) -> tuple[Whole, Whole, bool]:
    """Cost and number of pieces of rows from `lows` to `highs` in bands at `positions`; is every one exact?

    Where pieces cannot meet on members, or in rows of very many pieces, positions are worked out one by one; of too
    many of those only some are, and the others forbidden, which leaves a layout but no proof.
    """
    costs = np.full(len(lows), FORBIDDEN, dtype=np.int64)
    pieces = np.zeros(len(lows), dtype=np.int64)
    size = max(1, _AT_ONCE // max(len(ends.places), 1))
    if not ends.many:
        for first in range(0, len(lows), size):
            part = slice(first, first + size)
            costs[part], pieces[part] = _on_members(lows[part], highs[part], positions[part], product, ends)
    left = np.flatnonzero(costs >= FORBIDDEN)
    step = -(-len(left) // _ONE_BY_ONE) if len(left) else 1
    for row in left[::step].tolist():
        position = int(positions[row])
        band = (position, position + product.width_mm)
        found, run = joined_run((int(lows[row]), int(highs[row])), product, ends, band)
        costs[row], pieces[row] = parted_key(found)[0], len(run.pieces)
    return costs, pieces, step == 1 and not ends.many


def _on_members(
    lows: Whole, highs: Whole, positions: Whole, product: Product, ends: Ends
) -> tuple[Whole, Whole]:
    """Cost and pieces with every joint on a member; forbidden where that cannot be."""
    costs = np.full(len(lows), FORBIDDEN, dtype=np.int64)
    pieces = np.zeros(len(lows), dtype=np.int64)
    begins = np.array([place.at_mm - ends.end_lap_mm // 2 for place in ends.places], dtype=np.int64)
    finishes = begins + ends.end_lap_mm
    tape = _tape(positions, product.width_mm, ends)
    reached = _piece(finishes[:, None] - lows[None, :], product) + tape
    reached[begins[:, None] <= lows[None, :]] = FORBIDDEN
    usable = finishes[:, None] < highs[None, :]
    between = _piece(finishes[None, :] - begins[:, None], product)  # from joint (row) to joint (column)
    between[begins[:, None] >= begins[None, :]] = FORBIDDEN
    count = 2
    while len(begins) and bool((np.where(usable, reached, FORBIDDEN) < FORBIDDEN).any()):
        reached = np.where(usable, reached, FORBIDDEN)
        whole = (reached + _piece(highs[None, :] - begins[:, None], product)).min(axis=0)
        done = (costs >= FORBIDDEN) & (whole < FORBIDDEN)
        costs[done], pieces[done] = whole[done], count
        if bool((costs < FORBIDDEN).all()) or count > ends.most_pieces:
            break
        following = np.full_like(reached, FORBIDDEN)
        for joint in range(len(begins)):
            near = np.flatnonzero(between[:, joint] < FORBIDDEN)
            if len(near):
                following[joint] = (reached[near] + between[near, joint, None]).min(axis=0) + tape[joint]
        reached = np.minimum(following, FORBIDDEN)
        count += 1
    return costs, pieces


def _piece(lengths: Whole, product: Product) -> Whole:
    """Cost of pieces of these lengths; forbidden where longer than one may be."""
    cut = np.minimum(-(-lengths // product.step_mm) * product.step_mm, product.roll_mm)
    cost: Whole = np.where(
        (lengths > product.longest_mm) | (lengths <= 0), FORBIDDEN, cut * product.by_mm + product.piece
    )
    return cost


def _tape(positions: Whole, width: int, ends: Ends) -> Whole:
    """Cost of the tape on a joint at each place (row) in a band at each position (column)."""
    tape = np.zeros((len(ends.places), len(positions)), dtype=np.int64)
    known: dict[object, Whole] = {}
    for row, place in enumerate(ends.places):
        if place.spans not in known:
            length = np.zeros_like(positions)
            for low, high in place.spans:
                length += np.maximum(0, np.minimum(high, positions + width) - np.maximum(low, positions))
            known[place.spans] = length * ends.by_mm
        tape[row] = known[place.spans]
    return tape
