"""Bars into rolls: heuristics first, and the harder method only where a gap to the bound is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from workers.engine.cutting.cover import Cover, Mix
from workers.engine.cutting.fill import best_fit, fill_one, first_fit, fullest, repeats, take
from workers.engine.cutting.problem import Answer, Lengths, Packing, cost_of
from workers.engine.cutting.width_bounds import weights
from workers.engine.cutting.within import shaken_fills
from workers.engine.cutting.work import Work

_MIXES = 24
_FEW, _SHAKES = 600, 12  # bars up to which shaken orders are tried, and how many


class OutOfStock(Exception):  # noqa: N818 - says what is the matter
    """Limited stock does not hold all the bars."""


def solve(problem: Lengths, work: Work) -> Answer:
    """The cheapest packing found and a bound that no packing goes below. Raises `OutOfStock`."""
    fits = [problem.fits(source) for source in problem.sources]
    values = [
        fullest(source.length, kinds, problem.lengths, problem.counts)[0]
        for source, kinds in zip(problem.sources, fits, strict=True)
    ]
    material = sum(length * count for length, count in zip(problem.lengths, problem.counts, strict=True))
    cover = Cover(problem.sources, values, material)
    bound = cover.bound()
    best: Packing | None = None
    for packing in _candidates(problem, fits, cover):
        if best is None or cost_of(packing, problem.sources) < cost_of(best, problem.sources):
            best = packing
        if cost_of(best, problem.sources) <= bound:
            break
    if best is None:
        raise OutOfStock
    if cost_of(best, problem.sources) > bound:
        bound = max(bound, _bound_by_weights(problem))
    if cost_of(best, problem.sources) > bound and sum(problem.counts) <= _FEW:
        best = next(shaken_fills(problem, fits, bound, _SHAKES), best)
    if cost_of(best, problem.sources) > bound:
        from workers.engine.cutting.gap import close_gap  # noqa: PLC0415 - numpy and the solver load only here

        best, bound = close_gap(problem, best, bound, work)
    return Answer(best, cost_of(best, problem.sources), bound)


def _bound_by_weights(problem: Lengths) -> int:
    """The bound by weights of length (see `width_bounds`), taking every source for as long as the longest."""
    best = 0
    for of_length, most in weights(problem.lengths, max(source.length for source in problem.sources)):
        target = sum(weight * count for weight, count in zip(of_length, problem.counts, strict=True))
        best = max(best, Cover(problem.sources, [most] * len(problem.sources), target).bound())
    return best


def _candidates(problem: Lengths, fits: Sequence[tuple[int, ...]], cover: Cover) -> Iterator[Packing]:
    """Packings from quick methods, the dearer methods last."""
    free, priced = _free_and_priced(problem)
    orders = _orders(problem, free)
    for order in orders:
        yield from _some(fill_in_order(problem, fits, order, priced))
    for _, mix in cover.mixes(_MIXES):
        yield from _some(_fill_mix(problem, fits, mix))
    yield from _decreasing(problem, orders[0], priced)


def _decreasing(problem: Lengths, free: Sequence[int], priced: Sequence[int]) -> Iterator[Packing]:
    """First-fit and best-fit decreasing over the sources that are wide enough for every bar."""
    sources, widest = problem.sources, max(problem.widths)
    wide = [index for index in priced if sources[index].width >= widest]
    names = [index for index in free if sources[index].width >= widest]
    names += [index for index in wide for _ in range(sources[index].limit or 0)]
    unlimited = [index for index in wide if sources[index].limit is None]
    for fit in (first_fit, best_fit):
        held = fit(
            [sources[index].length for index in names],
            sources[unlimited[-1]].length if unlimited else 0,
            problem.lengths,
            problem.counts,
        )
        if held is not None:
            more = unlimited[-1:] * (len(held) - len(names))
            yield [
                (source, tuple(sorted(one.items())))
                for source, one in zip(names + more, held, strict=True)
                if one
            ]


def _some(packing: Packing | None) -> Iterator[Packing]:
    if packing is not None:
        yield packing


def _free_and_priced(problem: Lengths) -> tuple[list[int], list[int]]:
    """Sources that cost nothing, one entry each of them; and those that do, limited ones first, best value last."""
    free = [
        index
        for index, source in enumerate(problem.sources)
        if source.cost == 0 and source.limit is not None
        for _ in range(source.limit)
    ]
    priced = [i for i, source in enumerate(problem.sources) if source.cost > 0 or source.limit is None]
    priced.sort(
        key=lambda i: (
            problem.sources[i].limit is None,
            -problem.sources[i].cost * 10**9 // problem.sources[i].length,
            i,
        )
    )
    return free, priced


def _orders(problem: Lengths, free: list[int]) -> list[list[int]]:
    """Three orders in which free offcuts are filled: short, long, and narrow ones first."""
    sources = problem.sources
    orders = [
        sorted(free, key=lambda i: (sources[i].length, sources[i].width, i)),
        sorted(free, key=lambda i: (-sources[i].length, sources[i].width, i)),
        sorted(free, key=lambda i: (sources[i].width, sources[i].length, i)),
    ]
    return [order for order, _ in groupby(orders)]


def fill_in_order(
    problem: Lengths, fits: Sequence[tuple[int, ...]], order: Sequence[int], priced: Sequence[int]
) -> Packing | None:
    """Fill the sources of `order` one after the other, then priced ones; the last is swapped for a cheaper one."""
    left = list(problem.counts)
    packing = fill_these(problem, fits, order, left)
    for index in priced:
        source = problem.sources[index]
        room = source.limit
        while any(left[kind] for kind in fits[index]) and (room is None or room > 0):
            filling = fill_one(source.length, fits[index], problem.lengths, left)
            times = repeats(filling, left)
            if room is not None:
                times = min(times, room)
                room -= times
            take(filling, left, times)
            packing.extend([(index, filling)] * times)
    if any(left):
        return None
    return _cheaper_last(problem, fits, packing)


def fill_these(
    problem: Lengths, fits: Sequence[tuple[int, ...]], order: Sequence[int], left: list[int]
) -> Packing:
    """Fill each source of `order` once, taking from `left` in place; empty ones are not listed.

    What is bought must hold the longest bar left; what is free is filled as full as can be with any.
    """
    packing: Packing = []
    for index in order:
        source = problem.sources[index]
        if source.cost:
            filling = fill_one(source.length, fits[index], problem.lengths, left)
        else:
            here = [kind for kind in fits[index] if left[kind]]
            filling = fullest(source.length, here, problem.lengths, left)[1]
        if filling:
            take(filling, left)
            packing.append((index, filling))
    return packing


def _fill_mix(problem: Lengths, fits: Sequence[tuple[int, ...]], mix: Mix) -> Packing | None:
    order = [index for index, many in enumerate(mix) for _ in range(many)]
    order.sort(key=lambda i: (problem.sources[i].cost > 0, problem.sources[i].length, i))
    left = list(problem.counts)
    packing = fill_these(problem, fits, order, left)
    return None if any(left) else packing


def _cheaper_last(problem: Lengths, fits: Sequence[tuple[int, ...]], packing: Packing) -> Packing:
    """Move each filling to the cheapest source that holds it and is not used up."""
    used = [0] * len(problem.sources)
    for index, _ in packing:
        used[index] += 1
    moved: Packing = []
    for index, filling in packing:
        need = sum(problem.lengths[kind] * many for kind, many in filling)
        best = index
        for other, source in enumerate(problem.sources):
            if source.cost < problem.sources[best].cost and source.length >= need:
                room = source.limit is None or used[other] < source.limit
                if room and all(kind in fits[other] for kind, _ in filling):
                    best = other
        used[index] -= 1
        used[best] += 1
        moved.append((best, filling))
    return moved
