"""Pieces that can lie side by side: odd widths of stock first, then sections of the roll's width as bars.

Bounds hold for every plan of cuts across the roll, rips along and cuts across the lanes: what a cut list can say. All
but the one of few pieces hold for whatever lies beside what.
"""

from __future__ import annotations

from collections.abc import Sequence

from workers.engine.cutting.abreast import better_plans, first_plans
from workers.engine.cutting.cover import Cover
from workers.engine.cutting.few import FEW, shortest_sections
from workers.engine.cutting.lengths import OutOfStock, solve
from workers.engine.cutting.odd_widths import cut_odd_widths, main_width
from workers.engine.cutting.problem import Lengths
from workers.engine.cutting.sections import Section
from workers.engine.cutting.sizes import Cutting, Sizes
from workers.engine.cutting.width_bounds import cost_bound
from workers.engine.cutting.work import Work

_Found = tuple[Cutting, int]


def solve_side_by_side(sizes: Sizes, work: Work) -> tuple[Cutting, int]:
    """The cheapest cutting found and a bound on its cost. Raises `OutOfStock`."""
    room = main_width(sizes)
    bound = cost_bound(sizes)
    ways = [(first, rest, _parted(rest, room)) for first, rest in cut_odd_widths(sizes, room)]
    best: _Found | None = None
    plans: list[list[list[Section]]] = []
    for first, rest, (alone, beside) in ways:
        plans.append([])
        for plan in first_plans(room, rest.lengths, rest.widths, beside):
            plans[-1].append(plan)
            best = _cheaper(best, first, rest, alone + plan, work)
            if best is not None and best[1] <= bound:
                return best[0], bound
    for harder in (_bound_by_prices, _bound_of_few, _wide_bound):
        bound = harder(sizes, bound, work)
        if best is not None and best[1] <= bound:
            return best[0], bound
    for (first, rest, (alone, beside)), made in zip(ways, plans, strict=True):
        few = _few(beside)
        if few:
            made.append(shortest_sections(room, rest.lengths, rest.widths, few))
            best = _cheaper(best, first, rest, alone + made[-1], work)
            if best is not None and best[1] <= bound:
                return best[0], bound
        for plan in better_plans(room, rest.lengths, rest.widths, beside, made):
            best = _cheaper(best, first, rest, alone + plan, work)
            if best is not None and best[1] <= bound:
                return best[0], bound
    if best is None:
        raise OutOfStock
    return best[0], bound


def _parted(sizes: Sizes, room: int) -> tuple[list[Section], list[int]]:
    """Pieces that leave no room beside them, each a bar of its own; and how many there are of each other kind."""
    kinds = [kind for kind, count in enumerate(sizes.counts) if count]
    narrowest = min((sizes.widths[kind] for kind in kinds), default=0)
    alone = [
        Section(sizes.lengths[kind], ((sizes.widths[kind], (kind,)),))
        for kind in kinds
        for _ in range(sizes.counts[kind])
        if room - sizes.widths[kind] < narrowest
    ]
    beside = [
        0 if room - width < narrowest else count
        for width, count in zip(sizes.widths, sizes.counts, strict=True)
    ]
    return alone, beside


def _cheaper(
    best: _Found | None, first: Cutting, rest: Sizes, sections: Sequence[Section], work: Work
) -> _Found | None:
    """What is cut from odd widths, and the rest from these sections, if that costs less than the best."""
    spent = sum(rest.sources[source].cost for source, _ in first)
    whole = sum(section.length for section in sections)
    least = Cover(rest.sources, [source.length for source in rest.sources], whole).bound()
    if best is not None and spent + least >= best[1]:
        return best
    if not sections:
        return first, spent
    try:
        cutting, cost = _from_sections(rest, sections, work)
    except OutOfStock:
        return best
    return (first + cutting, spent + cost) if best is None or spent + cost < best[1] else best


def _from_sections(sizes: Sizes, sections: Sequence[Section], work: Work) -> tuple[Cutting, int]:
    alike: dict[tuple[int, int], list[Section]] = {}
    for section in sections:
        alike.setdefault((section.length, section.width), []).append(section)
    keys = sorted(alike, reverse=True)
    answer = solve(
        Lengths(
            tuple(length for length, _ in keys),
            tuple(width for _, width in keys),
            tuple(len(alike[key]) for key in keys),
            sizes.sources,
        ),
        work,
    )
    cutting: Cutting = [
        (source, [alike[keys[kind]].pop() for kind, many in filling for _ in range(many)])
        for source, filling in answer.packing
    ]
    return cutting, answer.cost


def _bound_by_prices(sizes: Sizes, known: int, work: Work) -> int:
    from workers.engine.cutting.width_prices import (  # noqa: PLC0415 - numpy and the solver load only here
        bound_by_prices,
    )

    return bound_by_prices(sizes, known, work)


def _few(beside: Sequence[int]) -> list[int]:
    """A kind for each piece that may lie beside others; none where there are too many for every choice."""
    return [kind for kind, count in enumerate(beside) for _ in range(count)] if 0 < sum(beside) <= FEW else []


def _bound_of_few(sizes: Sizes, known: int, work: Work) -> int:
    """The bound of the shortest sections that few pieces can make, and all other pieces alone.

    A section cut from a narrower source could be cut from the widest, so no cutting needs less length.
    """
    widest = max(source.width for source in sizes.sources)
    alone, beside = _parted(sizes, widest)
    few = _few(beside)
    if not few:
        return known
    work.spend(20_000_000)
    sections = alone + shortest_sections(widest, sizes.lengths, sizes.widths, few)
    whole = sum(section.length for section in sections)
    return max(known, Cover(sizes.sources, [source.length for source in sizes.sources], whole).bound())


def _wide_bound(sizes: Sizes, known: int, work: Work) -> int:
    """The bound of the pieces wider than half the widest stock alone: no two of them lie side by side."""
    widest = max(source.width for source in sizes.sources)
    wide = [kind for kind, width in enumerate(sizes.widths) if 2 * width > widest]
    if not wide:
        return known
    of_wide = Lengths(
        tuple(sizes.lengths[kind] for kind in wide),
        tuple(sizes.widths[kind] for kind in wide),
        tuple(sizes.counts[kind] for kind in wide),
        sizes.sources,
    )
    try:
        return max(known, solve(of_wide, work).bound)
    except OutOfStock:
        return known
