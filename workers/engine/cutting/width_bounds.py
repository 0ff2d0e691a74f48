"""Lower bounds where pieces lie side by side.

A dual feasible function f gives widths weights such that widths that fit side by side in the roll never weigh more
than f(roll). Then at every place along a roll the pieces there weigh at most f(roll), so sum length·f(width) is at
most length·f(roll) for each roll, however it is cut. Families used (Fekete and Schepers 2001): the width itself; 1
for more than half; floor((k + 1)·w ÷ W) parts of k; and nothing at all for widths under a threshold while widths
over the rest count full.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workers.engine.cutting.cover import Cover
from workers.engine.cutting.fill import fullest
from workers.engine.cutting.sizes import Sizes


def cost_bound(sizes: Sizes) -> int:
    """The best bound over all functions: no cutting costs less."""
    widest = max(source.width for source in sizes.sources)
    fits = [
        [
            kind
            for kind, count in enumerate(sizes.counts)
            if count and sizes.lengths[kind] <= source.length and sizes.widths[kind] <= source.width
        ]
        for source in sizes.sources
    ]
    across = [
        fullest(source.width, kinds, sizes.widths, [source.width] * len(sizes.widths))[0]
        for source, kinds in zip(sizes.sources, fits, strict=True)
    ]
    best = 0
    for of_width, most in weights(sizes.widths, widest):
        worth = [
            length * weight * count
            for length, weight, count in zip(sizes.lengths, of_width, sizes.counts, strict=True)
        ]
        plain = of_width == list(sizes.widths)
        values = [
            min(source.length * (wide if plain else most), sum(worth[kind] for kind in kinds))
            for source, wide, kinds in zip(sizes.sources, across, fits, strict=True)
        ]
        best = max(best, Cover(sizes.sources, values, sum(worth)).bound())
    return best


def weights(sizes: Sequence[int], whole: int) -> Iterator[tuple[list[int], int]]:
    """For each function: the weight of every size, and the weight of the whole."""
    yield list(sizes), whole
    for parts in range(1, min(24, whole // max(1, min(sizes)) + 1)):
        yield (
            [
                size * parts if (parts + 1) * size % whole == 0 else (parts + 1) * size // whole * whole
                for size in sizes
            ],
            whole * parts,
        )
    thresholds = sorted({size for size in sizes if 2 * size <= whole})
    step = max(1, len(thresholds) // 24)
    for threshold in thresholds[::step]:
        yield (
            [whole if size > whole - threshold else size if size >= threshold else 0 for size in sizes],
            whole,
        )
