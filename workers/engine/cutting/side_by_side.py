"""Pieces that can lie side by side: odd widths of stock first, then sections of the roll's width as bars."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workers.engine.cutting.abreast import section_plans
from workers.engine.cutting.cover import Cover
from workers.engine.cutting.lengths import OutOfStock, solve
from workers.engine.cutting.odd_widths import cut_odd_widths, main_width
from workers.engine.cutting.problem import Lengths
from workers.engine.cutting.sections import Section
from workers.engine.cutting.sizes import Cutting, Sizes
from workers.engine.cutting.width_bounds import cost_bound
from workers.engine.cutting.work import Work

_PLANS_BEFORE_BOUND = 8


def solve_side_by_side(sizes: Sizes, work: Work) -> tuple[Cutting, int]:
    """The cheapest cutting found and a bound on its cost. Raises `OutOfStock`."""
    room = main_width(sizes)
    bound = cost_bound(sizes)
    best: tuple[Cutting, int] | None = None
    for first, rest in cut_odd_widths(sizes, room):
        spent = sum(sizes.sources[source].cost for source, _ in first)
        limit = None if best is None else best[1] - spent
        for number, (cutting, cost) in enumerate(_main_cuttings(rest, room, limit, work)):
            if best is None or spent + cost < best[1]:
                best = first + cutting, spent + cost
            if number == _PLANS_BEFORE_BOUND:
                bound = max(bound, _wide_bound(sizes, work))
            if best[1] <= bound:
                return best[0], bound
    if best is None:
        raise OutOfStock
    return best[0], bound


def _main_cuttings(sizes: Sizes, room: int, limit: int | None, work: Work) -> Iterator[tuple[Cutting, int]]:
    """Cuttings from sections as wide as the roll, and their costs; only those that cost less than any before.

    A piece that leaves no room beside it is a bar of its own.
    """
    kinds = [kind for kind, count in enumerate(sizes.counts) if count]
    if not kinds:
        yield [], 0
        return
    narrowest = min(sizes.widths[kind] for kind in kinds)
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
    lengths = [source.length for source in sizes.sources]
    for plan in section_plans(room, sizes.lengths, sizes.widths, beside):
        sections = alone + plan
        whole = sum(section.length for section in sections)
        if limit is not None and Cover(sizes.sources, lengths, whole).bound() >= limit:
            continue
        try:
            cutting, cost = _from_sections(sizes, sections, work)
        except OutOfStock:
            continue
        if limit is None or cost < limit:
            limit = cost
            yield cutting, cost


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


def _wide_bound(sizes: Sizes, work: Work) -> int:
    """The bound of the pieces wider than half the widest stock alone: no two of them lie side by side."""
    widest = max(source.width for source in sizes.sources)
    wide = [kind for kind, width in enumerate(sizes.widths) if 2 * width > widest]
    if not wide:
        return 0
    try:
        return solve(
            Lengths(
                tuple(sizes.lengths[kind] for kind in wide),
                tuple(sizes.widths[kind] for kind in wide),
                tuple(sizes.counts[kind] for kind in wide),
                sizes.sources,
            ),
            work,
        ).bound
    except OutOfStock:
        return 0
