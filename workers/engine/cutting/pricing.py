"""The filling worth most: a knapsack with bounded counts, exact in whole numbers, for every length at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from workers.engine.cutting.problem import Filling


class Knapsack:
    """Best worth of bars for every room from 0 to `room`; worths are whole numbers under 2**40."""

    def __init__(
        self,
        room: int,
        kinds: Sequence[int],
        lengths: Sequence[int],
        counts: Sequence[int],
        worths: Sequence[int],
    ) -> None:
        self._parts: list[tuple[int, int]] = []  # kind, how many of it
        for kind in kinds:
            left = min(counts[kind], room // lengths[kind])
            part = 1
            while left > 0 and worths[kind] > 0:
                part = min(part, left)
                self._parts.append((kind, part))
                left -= part
                part *= 2
        self._lengths = lengths
        self.counts, self.worths = counts, worths
        self.steps = len(self._parts) * (3_000 + room * 2 // 5)
        self.best: NDArray[np.int64] = np.zeros(room + 1, dtype=np.int64)
        self._taken = np.zeros((len(self._parts), room + 1), dtype=np.bool_)
        for row, (kind, part) in enumerate(self._parts):
            length = lengths[kind] * part
            with_it = self.best[:-length] + worths[kind] * part
            np.greater(with_it, self.best[length:], out=self._taken[row, length:])
            np.maximum(with_it, self.best[length:], out=self.best[length:])

    def worth(self, room: int) -> int:
        """The most that a room can hold."""
        return int(self.best[room])

    def filling(self, room: int) -> Filling:
        """A filling of that worth."""
        chosen: dict[int, int] = {}
        row = len(self._parts)
        while row > 0:
            rows = self._taken[:row, room].nonzero()[0]
            if not rows.size:
                break
            row = int(rows[-1])
            kind, part = self._parts[row]
            chosen[kind] = chosen.get(kind, 0) + part
            room -= part * self._lengths[kind]
        return tuple(sorted(chosen.items()))
