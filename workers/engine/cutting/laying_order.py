"""Pieces of one surface from consecutive rolls, where that costs nothing."""

from __future__ import annotations

from collections.abc import Sequence

from workers.engine.cutting.cut_list import CutOf, Opened
from workers.engine.cutting.fill import fullest

_MOST_CUTS = 3000


def in_laying_order(opened: Sequence[Opened]) -> list[Opened]:
    """Fill the same rolls from the earliest pieces on; taken only if the longest remnant stays as long.

    Rolls and the cuts within each are in laying order.
    """
    plans = [list(opened)]
    if sum(len(one.cuts) for one in opened) <= _MOST_CUTS:
        anew = _filled_from_the_front(opened)
        if anew is not None and _longest_remnant(anew) >= _longest_remnant(opened):
            plans.append(anew)
    best = min(plans, key=_rolls_touched)
    return sorted(best, key=lambda one: _order(one.cuts[0]))


def _order(cut: CutOf) -> tuple[int, str]:
    return min((piece.order, piece.id) for _, lane in cut[1] for piece in lane)


def _filled_from_the_front(opened: Sequence[Opened]) -> list[Opened] | None:
    cuts = sorted((cut for one in opened for cut in one.cuts), key=_order)
    lengths = [cut[0] for cut in cuts]
    widths = [sum(width for width, _ in cut[1]) for cut in cuts]
    once = [1] * len(cuts)
    left = list(range(len(cuts)))
    filled: list[Opened] = []
    # the roll with the longest remnant comes last: what is left when all others are full is its own
    longest = _longest_remnant(opened)
    for one in sorted(opened, key=lambda one: one.remnant_mm == longest):
        room, wide = one.stock.length_mm, one.stock.width_mm
        here = [at for at in left if lengths[at] <= room and widths[at] <= wide]
        if not here:
            continue
        first = here.pop(0)
        _, filling = fullest(room - lengths[first], here, lengths, once)
        chosen = {first, *(at for at, _ in filling)}
        filled.append(Opened(one.stock, tuple(cuts[at] for at in sorted(chosen))))
        left = [at for at in left if at not in chosen]
    return None if left else filled


def _longest_remnant(opened: Sequence[Opened]) -> int:
    return max((one.remnant_mm for one in opened if one.stock.kind == "roll"), default=0)


def _rolls_touched(opened: Sequence[Opened]) -> int:
    """Over all surfaces, the number of rolls their pieces come from."""
    return len(
        {
            (piece.surface, number)
            for number, one in enumerate(opened)
            for _, lanes in one.cuts
            for _, lane in lanes
            for piece in lane
        }
    )
