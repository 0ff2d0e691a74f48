"""Better sections: take the poorest apart and put their pieces together again in another manner, then piece by piece."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workers.engine.cutting.anneal import annealed_plans
from workers.engine.cutting.dice import Dice
from workers.engine.cutting.sections import BIASES, Manner, Pile, Section, waste_of

_REPAIRS = 40
_FIRST = (
    *(Manner(bias) for bias in BIASES),
    *(Manner(bias, stacked=True) for bias in (4, 1, 16)),
)
_MANY = 600  # pieces from which on only a few ways are tried
_LOOK = 80  # sections looked at in one step
_WORSE = 15  # thousandths that a step may lose
_STRAY = 30  # thousandths above the best at which the search goes back to it


def first_plans(
    room: int, lengths: Sequence[int], widths: Sequence[int], counts: Sequence[int]
) -> Iterator[list[Section]]:
    """A few ways to put all pieces into sections. `room` is the width of the roll; kinds are sorted longest first."""
    for manner in _FIRST if sum(counts) <= _MANY else _FIRST[:2]:
        yield Pile(room, lengths, widths, counts).sections(manner)


def better_plans(
    room: int,
    lengths: Sequence[int],
    widths: Sequence[int],
    counts: Sequence[int],
    plans: Sequence[list[Section]],
) -> Iterator[list[Section]]:
    """Plans of the same pieces as `plans`, each needing less roll than those and all before it."""
    best = now = min(plans, key=_length)
    area = sum(length * width * count for length, width, count in zip(lengths, widths, counts, strict=True))
    if not best:
        return
    dice = Dice(1)
    for _ in range(_REPAIRS):
        if _length(best) * room <= area:
            return
        manner = Manner(
            bias=BIASES[dice.below(len(BIASES))],
            stacked=dice.below(2) == 0,
            reach=dice.below(2) * lengths[0],
            dice=dice,
        )
        step = _repaired(now, (room, lengths, widths), manner, dice)
        if _length(step) * 1000 <= _length(now) * (1000 + dice.below(_WORSE + 1)):
            now = step
        if _length(now) < _length(best):
            best = now
            yield best
        elif _length(now) * 1000 > _length(best) * (1000 + _STRAY):
            now = best
    if sum(counts) <= _MANY:
        yield from annealed_plans(room, lengths, widths, best)


def _length(plan: Sequence[Section]) -> int:
    return sum(section.length for section in plan)


def _repaired(
    plan: Sequence[Section], sizes: tuple[int, Sequence[int], Sequence[int]], manner: Manner, dice: Dice
) -> list[Section]:
    """Take two to six sections apart, those with much waste sooner, and build them again."""
    room, lengths, widths = sizes
    looked_at: Sequence[int] = range(len(plan))
    if len(plan) > _LOOK:
        looked_at = sorted({dice.below(len(plan)) for _ in range(_LOOK)})
    chances = {at: waste_of(plan[at], room, lengths, widths) * (1 + dice.below(64)) for at in looked_at}
    poorest = sorted(looked_at, key=lambda at: (-chances[at], at))[: 2 + dice.below(5)]
    held: dict[int, int] = {}
    for at in poorest:
        for _, lane in plan[at].lanes:
            for kind in lane:
                held[kind] = held.get(kind, 0) + 1
    kinds = sorted(held)
    built = Pile(
        room,
        [lengths[kind] for kind in kinds],
        [widths[kind] for kind in kinds],
        [held[kind] for kind in kinds],
    ).sections(manner)
    gone = set(poorest)
    return [section for at, section in enumerate(plan) if at not in gone] + [
        Section(
            section.length,
            tuple((width, tuple(kinds[kind] for kind in lane)) for width, lane in section.lanes),
        )
        for section in built
    ]
