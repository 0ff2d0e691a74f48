"""Closing the gap between a plan and its bound: part of the plan cut anew, then the whole, by column generation."""

from __future__ import annotations

from collections.abc import Sequence

from workers.engine.cutting.dice import Dice
from workers.engine.cutting.dive import Dive
from workers.engine.cutting.generate import Generator
from workers.engine.cutting.problem import Lengths, Packing, cost_of
from workers.engine.cutting.work import Work

_DIVES = 60
_ROUNDS = 400
_MANY_KINDS = 40
_MANY_ROLLS = 34
_MOST_CELLS = 50_000_000  # of a knapsack's table, a byte each


def close_gap(problem: Lengths, packing: Packing, bound: int, work: Work) -> tuple[Packing, int]:
    """A packing as cheap or cheaper and a bound as high or higher; bounded in steps of work."""
    too_large = _table_cells(problem) > _MOST_CELLS
    large = too_large or (len(problem.lengths) > _MANY_KINDS and len(packing) > _MANY_ROLLS)
    if large:
        packing = _cut_parts_anew(problem, packing, bound, work, rounds=6)
        if too_large or cost_of(packing, problem.sources) <= bound:
            return packing, bound
    cost = cost_of(packing, problem.sources)
    generator = Generator(problem, work)
    for source, filling in packing:
        generator.master.add(source, filling)
    limits = [source.limit for source in problem.sources]
    result = generator.run(problem.counts, limits, rounds=_ROUNDS, stop_at_bound=cost)
    bound = max(bound, result.bound)
    for number in range(_DIVES):
        if cost <= bound or work.left <= 0:
            break
        better = Dive(generator, _aim(cost, bound, number), Dice(number) if number else None).go(_ROUNDS)
        if better is not None:
            packing, cost = better, cost_of(better, problem.sources)
    return packing, bound


def _table_cells(problem: Lengths) -> int:
    room = max(source.length for source in problem.sources)
    parts = sum(
        min(count, room // length).bit_length()
        for length, count in zip(problem.lengths, problem.counts, strict=True)
    )
    return parts * room


def _aim(cost: int, bound: int, number: int) -> int:
    """What a dive aims at: the bound itself first, anything cheaper than the plan later."""
    return bound if number % 3 < 2 else cost - 1


def _cut_parts_anew(problem: Lengths, packing: Packing, bound: int, work: Work, *, rounds: int) -> Packing:
    """Keep most rolls, the best filled, and plan the others anew with the saving as the aim."""
    lengths, sources = problem.lengths, problem.sources

    def waste(entry: tuple[int, Sequence[tuple[int, int]]]) -> int:
        return sources[entry[0]].length - sum(lengths[kind] * many for kind, many in entry[1])

    for number in range(rounds):
        dice = Dice(number + 1)
        release = _MANY_ROLLS - 10 + 8 * (number % 4)
        ranked = sorted(range(len(packing)), key=lambda i: (waste(packing[i]), dice.below(1 << 20), i))
        kept, freed = ranked[:-release], ranked[-release:]
        part, kinds = _only(problem, [packing[i] for i in freed], [packing[i] for i in kept])
        if _table_cells(part) > _MOST_CELLS:
            break
        allowed = bound - sum(sources[packing[i][0]].cost for i in kept)
        generator = Generator(part, work)
        better = Dive(generator, allowed, Dice(number) if number else None).go(_ROUNDS)
        if better is not None:
            return [packing[i] for i in kept] + [
                (source, tuple((kinds[kind], many) for kind, many in filling)) for source, filling in better
            ]
        if work.left <= 0:
            break
    return packing


def _only(problem: Lengths, freed: Packing, kept: Packing) -> tuple[Lengths, list[int]]:
    """The problem of the freed rolls alone, and the kind each of its kinds was."""
    counts = [0] * len(problem.counts)
    for _, filling in freed:
        for kind, many in filling:
            counts[kind] += many
    kinds = [kind for kind, count in enumerate(counts) if count]
    used = [0] * len(problem.sources)
    for source, _ in kept:
        used[source] += 1
    return problem.part(kinds, [counts[kind] for kind in kinds], used), kinds
