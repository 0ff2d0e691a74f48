"""Filling with a limit on what may be wasted, so that a hopeless try ends early."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workers.engine.cutting.cover import Cover
from workers.engine.cutting.dice import Dice
from workers.engine.cutting.fill import fill_one, fullest, take
from workers.engine.cutting.problem import Lengths, Packing


def shaken_fills(
    problem: Lengths, fits: Sequence[tuple[int, ...]], allowed: int, times: int
) -> Iterator[Packing]:
    """Packings that cost at most `allowed`, filled with bars in orders shaken by up to a third of their length."""
    limits = [source.limit for source in problem.sources]
    dice = Dice(7)
    for _ in range(times):
        shaken = [length * (1000 + dice.below(500)) for length in problem.lengths]
        orders = [tuple(sorted(kinds, key=lambda kind: -shaken[kind])) for kinds in fits]
        packing = fill_within(problem, orders, problem.counts, limits, allowed)
        if packing is not None:
            yield packing


def fill_within(
    problem: Lengths,
    fits: Sequence[tuple[int, ...]],
    counts: Sequence[int],
    limits: Sequence[int | None],
    allowed: int,
) -> Packing | None:
    """Fill what is left into the cheapest mixes that could hold it, giving up once too much is wasted."""
    material = sum(length * count for length, count in zip(problem.lengths, counts, strict=True))
    lengths = [source.length for source in problem.sources]
    for cost, mix in Cover(problem.sources, lengths, material, limits).mixes(3):
        if cost > allowed:
            return None
        order = [index for index, many in enumerate(mix) for _ in range(many)]
        order.sort(key=lambda i: (problem.sources[i].cost > 0, problem.sources[i].length, i))
        waste = sum(lengths[index] for index in order) - material
        left = list(counts)
        packing: Packing = []
        for index in order:
            if problem.sources[index].cost:
                filling = fill_one(lengths[index], fits[index], problem.lengths, left)
            else:
                here = [kind for kind in fits[index] if left[kind]]
                filling = fullest(lengths[index], here, problem.lengths, left)[1]
            take(filling, left)
            waste -= lengths[index] - sum(problem.lengths[kind] * many for kind, many in filling)
            if waste < 0:
                break
            if filling:
                packing.append((index, filling))
        if not any(left):
            return packing
    return None
