"""All pieces of one product: lengths scaled, then one abreast or side by side."""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from math import gcd

from workers.engine.cutting.lengths import solve
from workers.engine.cutting.problem import Lengths
from workers.engine.cutting.remnant import gather_remnant
from workers.engine.cutting.sections import Section
from workers.engine.cutting.side_by_side import solve_side_by_side
from workers.engine.cutting.sizes import Cutting, Sizes
from workers.engine.cutting.width_bounds import cost_bound
from workers.engine.cutting.work import STEPS, Work


def solve_product(sizes: Sizes) -> tuple[Cutting, int, int]:
    """The cutting found, its cost and the bound on it. Raises `OutOfStock` where limited stock is not enough."""
    step = reduce(gcd, sizes.lengths)
    scaled = replace(
        sizes,
        lengths=tuple(length // step for length in sizes.lengths),
        sources=tuple(replace(source, length=source.length // step) for source in sizes.sources),
    )
    if _two_abreast(sizes):
        cutting, bound = solve_side_by_side(scaled, Work(STEPS // 10))
    else:
        cutting, bound = _one_abreast(scaled, Work(STEPS))
    cutting = gather_remnant(cutting, scaled.sources)
    cost = sum(scaled.sources[source].cost for source, _ in cutting)
    return (
        [
            (source, [replace(one, length=one.length * step) for one in sections])
            for source, sections in cutting
        ],
        cost,
        bound,
    )


def _two_abreast(sizes: Sizes) -> bool:
    """Do the two narrowest pieces fit side by side in any source?"""
    narrow = sorted(
        width for width, count in zip(sizes.widths, sizes.counts, strict=True) for _ in range(min(count, 2))
    )
    return len(narrow) > 1 and narrow[0] + narrow[1] <= max(source.width for source in sizes.sources)


def _one_abreast(sizes: Sizes, work: Work) -> tuple[Cutting, int]:
    answer = solve(Lengths(sizes.lengths, sizes.widths, sizes.counts, sizes.sources), work)
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
    return cutting, answer.bound


def fewest_rolls(sizes: Sizes, each: int) -> int:
    """No way of cutting opens fewer rolls, whatever it costs; `each` is one unit of money in the costs."""
    return cost_bound(
        replace(sizes, sources=tuple(replace(source, cost=source.cost % each) for source in sizes.sources))
    )
