"""Where places on a surface are counted from: a round sign at its zero, two quarters of it dark."""

from __future__ import annotations

import math

from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point
from workers.documents.drawing.pen import Pen
from workers.documents.drawing.sheet import Sheet

_RADIUS, _STEPS = 1.3, 4


def has_zero(sheet: Sheet) -> bool:
    """Whether the surface's zero lies on the paper of its drawing."""
    x, y = sheet.at((0, 0))
    return _RADIUS <= x <= sheet.width - _RADIUS and _RADIUS <= y <= sheet.height - _RADIUS


def draw_zero(pen: Pen, at: Point) -> None:
    """The sign, its middle on the zero."""
    pen.circle(at, _RADIUS, fill=look.PAPER, stroke=look.INK, stroke_width=0.25)
    pen.shape([_quarter(at, 0), _quarter(at, 2)], fill=look.INK)


def _quarter(at: Point, number: int) -> list[Point]:
    turns = [(number + step / _STEPS) * math.pi / 2 for step in range(_STEPS + 1)]
    return [at, *((at[0] + _RADIUS * math.cos(turn), at[1] - _RADIUS * math.sin(turn)) for turn in turns)]
