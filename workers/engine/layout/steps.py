"""Functions of a whole-mm position that run straight over stretches: the price of a band, the price of a lap."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]
Stretch = tuple[int, int, int]  # start, key there, growth of the key by each further mm


@dataclass(frozen=True, slots=True)
class Steps:
    """Stretch i holds from `starts[i]` to the mm before the next start; the last one to `last`, included."""

    starts: tuple[int, ...]
    keys: tuple[int, ...]
    slopes: tuple[int, ...]
    last: int

    def at(self, position: int) -> int:
        """The key at a position from the first start to `last`."""
        i = bisect_right(self.starts, position) - 1
        return self.keys[i] + self.slopes[i] * (position - self.starts[i])

    def along(self, positions: list[int]) -> list[int]:
        """The keys at rising positions, none below the first start."""
        starts, keys, slopes = (*self.starts, self.last + 1), self.keys, self.slopes
        i = 0
        found = []
        for position in positions:
            while starts[i + 1] <= position:
                i += 1
            found.append(keys[i] + slopes[i] * (position - starts[i]))
        return found


def steps(stretches: list[Stretch], last: int) -> Steps:
    """Steps from stretches in order, those that carry straight on from the one before joined to it."""
    starts: list[int] = []
    keys: list[int] = []
    slopes: list[int] = []
    for start, one, slope in stretches:
        if starts and slopes[-1] == slope and keys[-1] + slope * (start - starts[-1]) == one:
            continue
        starts.append(start)
        keys.append(one)
        slopes.append(slope)
    return Steps(tuple(starts), tuple(keys), tuple(slopes), last)


def straight(*columns: Whole) -> list[tuple[int, int]]:
    """Where several columns of values all run straight: (first index, length) of each stretch, in order."""
    count = len(columns[0])
    if count == 1:
        return [(0, 1)]
    rises = [np.diff(column) for column in columns]
    bends = np.zeros(count - 2, dtype=bool)
    for rise in rises:
        bends |= rise[1:] != rise[:-1]
    found: list[tuple[int, int]] = []
    first = 0
    for bend in (np.flatnonzero(bends) + 1).tolist():
        if bend > first:  # a bend at the very start of a stretch belongs to what went before
            found.append((first, bend - first + 1))
            first = bend + 1
    if first < count:
        found.append((first, count - first))
    return found
