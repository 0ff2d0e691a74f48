"""Lower bounds where pieces lie side by side.

A dual feasible function f gives widths weights such that widths that fit side by side in the roll never weigh more
than f(roll). Then at every place along a roll the pieces there weigh at most f(roll), so sum length·f(width) is at
most length·f(roll) for each roll, however it is cut. Families used (Fekete and Schepers 2001): the width itself; 1
for more than half; floor((k + 1)·w ÷ W) parts of k; and nothing at all for widths under a threshold while widths
over the rest count full.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence


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
