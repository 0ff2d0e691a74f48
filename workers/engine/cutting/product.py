"""All pieces of one product: sections where pieces are narrow, bars into rolls, and the bounds of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from math import gcd

from workers.engine.cutting.abreast import section_plans
from workers.engine.cutting.cover import Cover
from workers.engine.cutting.lengths import solve
from workers.engine.cutting.problem import Lengths, Source
from workers.engine.cutting.sections import Section
from workers.engine.cutting.width_bounds import weights


@dataclass(frozen=True, slots=True)
class Sizes:
    """Kinds of piece (length, width) longest first, how many of each, and the sources."""

    lengths: tuple[int, ...]
    widths: tuple[int, ...]
    counts: tuple[int, ...]
    sources: tuple[Source, ...]


Cutting = list[tuple[int, list[Section]]]  # each opened roll or offcut: source, sections in order


def solve_product(sizes: Sizes) -> tuple[Cutting, int, int]:
    """The cutting found, its cost and the bound on it."""
    step = reduce(gcd, sizes.lengths)
    scaled = replace(
        sizes,
        lengths=tuple(length // step for length in sizes.lengths),
        sources=tuple(replace(source, length=source.length // step) for source in sizes.sources),
    )
    narrow = sorted(
        width for width, count in zip(sizes.widths, sizes.counts, strict=True) for _ in range(min(count, 2))
    )
    if len(narrow) < 2 or narrow[0] + narrow[1] > max(source.width for source in sizes.sources):
        cutting, cost, bound = _one_abreast(scaled)
    else:
        cutting, cost, bound = _side_by_side(scaled)
    return (
        [
            (source, [replace(one, length=one.length * step) for one in sections])
            for source, sections in cutting
        ],
        cost,
        bound,
    )


def _one_abreast(sizes: Sizes) -> tuple[Cutting, int, int]:
    """No two pieces fit side by side: every piece is a bar."""
    answer = solve(Lengths(sizes.lengths, sizes.widths, sizes.counts, sizes.sources))
    cutting: Cutting = [
        (
            source,
            [
                Section(sizes.lengths[kind], ((sizes.widths[kind], (kind,)),))
                for kind, many in filling
                for _ in range(many)
            ],
        )
        for source, filling in answer.packing
    ]
    return cutting, answer.cost, answer.bound


def _side_by_side(sizes: Sizes) -> tuple[Cutting, int, int]:
    """Pieces that leave no room beside them are bars; the others go into sections, which are bars then."""
    bound = _width_bound(sizes)
    widest = max(source.width for source in sizes.sources)
    narrowest = min(sizes.widths)
    alone = [
        Section(length, ((width, (kind,)),))
        for kind, (length, width, count) in enumerate(
            zip(sizes.lengths, sizes.widths, sizes.counts, strict=True)
        )
        for _ in range(count)
        if widest - width < narrowest
    ]
    counts = [
        0 if widest - width < narrowest else count
        for width, count in zip(sizes.widths, sizes.counts, strict=True)
    ]
    best: tuple[Cutting, int] | None = None
    lengths = [source.length for source in sizes.sources]
    for plan in section_plans(widest, sizes.lengths, sizes.widths, counts):
        sections = alone + plan
        if best is not None:
            whole = sum(section.length for section in sections)
            if Cover(sizes.sources, lengths, whole).bound() >= best[1]:
                continue
        found = _from_sections(sizes, sections)
        if best is None or found[1] < best[1]:
            best = found
        if best[1] <= bound:
            break
    if best is None:
        raise AssertionError("there is always a plan")
    return best[0], best[1], bound


def _from_sections(sizes: Sizes, sections: Sequence[Section]) -> tuple[Cutting, int]:
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
        )
    )
    cutting: Cutting = [
        (source, [alike[keys[kind]].pop() for kind, many in filling for _ in range(many)])
        for source, filling in answer.packing
    ]
    return cutting, answer.cost


def _width_bound(sizes: Sizes) -> int:
    widest = max(source.width for source in sizes.sources)
    best = 0
    for of_width, most in weights(sizes.widths, widest):
        target = sum(
            length * weight * count
            for length, weight, count in zip(sizes.lengths, of_width, sizes.counts, strict=True)
        )
        plain = of_width == list(sizes.widths)
        values = [source.length * (source.width if plain else most) for source in sizes.sources]
        best = max(best, Cover(sizes.sources, values, target).bound())
    return best


def fewest_rolls(sizes: Sizes) -> int:
    """No way of cutting opens fewer rolls, whatever it costs: all offcuts used, then rolls by area."""
    counted = replace(
        sizes, sources=tuple(replace(source, cost=int(source.cost > 0)) for source in sizes.sources)
    )
    return _width_bound(counted)
