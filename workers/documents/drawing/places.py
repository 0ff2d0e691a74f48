"""Keeps labels off each other: every box taken is remembered, and a label takes the first free place."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

Box = tuple[float, float, float, float]  # left, top, right, bottom on paper


def box_round(x: float, y: float, width: float, height: float) -> Box:
    """The box of a label by its middle."""
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


class Places:
    """The boxes of a sheet that are taken."""

    def __init__(self) -> None:
        self._taken: list[Box] = []

    def take(self, box: Box) -> None:
        """Nothing may be written there from now on."""
        self._taken.append(box)

    def take_line(self, line: Sequence[tuple[float, float]], thickness: float) -> None:
        """The boxes along a line, short ones, so that a slanting line does not take a whole field."""
        half = thickness / 2
        for (x0, y0), (x1, y1) in pairwise(line):
            wide, high = abs(x1 - x0), abs(y1 - y0)
            straight = min(wide, high) < 0.01
            steps = 1 if straight else int(max(wide, high) / 2) + 1
            grow_x, grow_y = (
                (0.0, half) if straight and wide > high else (half, 0.0) if straight else (half, half)
            )
            for index in range(steps):
                xs = sorted(x0 + (x1 - x0) * part / steps for part in (index, index + 1))
                ys = sorted(y0 + (y1 - y0) * part / steps for part in (index, index + 1))
                self.take((xs[0] - grow_x, ys[0] - grow_y, xs[1] + grow_x, ys[1] + grow_y))

    def overlap(self, box: Box) -> float:
        """How much of a box is taken already, in square millimetres."""
        return sum(
            max(0.0, min(box[2], other[2]) - max(box[0], other[0]))
            * max(0.0, min(box[3], other[3]) - max(box[1], other[1]))
            for other in self._taken
        )

    def freest_group(self, groups: Sequence[Sequence[Box]]) -> int:
        """As `freest`, for words that slant and so are several boxes each."""
        best = min(
            range(len(groups)),
            key=lambda index: (round(sum(self.overlap(box) for box in groups[index]), 3), index),
        )
        for box in groups[best]:
            self.take(box)
        return best

    def freest(self, boxes: list[Box]) -> int:
        """Index of the first free box, or of the least taken one; taken at once."""
        best = min(range(len(boxes)), key=lambda index: (round(self.overlap(boxes[index]), 3), index))
        self.take(boxes[best])
        return best
