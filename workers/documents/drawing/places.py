"""Keeps labels off each other: every box taken is remembered, and a label takes the first free place."""

from __future__ import annotations

from collections.abc import Sequence

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
        for (x0, y0), (x1, y1) in zip(line, line[1:], strict=False):
            straight = min(abs(x1 - x0), abs(y1 - y0)) < 0.01
            steps = 1 if straight else max(1, int(max(abs(x1 - x0), abs(y1 - y0)) / 2) + 1)
            for index in range(steps):
                xa, xb = sorted(x0 + (x1 - x0) * part / steps for part in (index, index + 1))
                ya, yb = sorted(y0 + (y1 - y0) * part / steps for part in (index, index + 1))
                self.take((xa - thickness / 2, ya - thickness / 2, xb + thickness / 2, yb + thickness / 2))

    def overlap(self, box: Box) -> float:
        """How much of a box is taken already, in square millimetres."""
        return sum(
            max(0.0, min(box[2], other[2]) - max(box[0], other[0]))
            * max(0.0, min(box[3], other[3]) - max(box[1], other[1]))
            for other in self._taken
        )

    def freest(self, boxes: list[Box]) -> int:
        """Index of the first free box, or of the least taken one; taken at once."""
        best = min(range(len(boxes)), key=lambda index: (round(self.overlap(boxes[index]), 3), index))
        self.take(boxes[best])
        return best
