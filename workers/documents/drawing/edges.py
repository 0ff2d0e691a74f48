"""The outline's edges on paper: how far the layer is carried past each, and the dimensions of the outline."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from api_schema.layout import EdgeAllowance
from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point, box_of, signed_area
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.places import Box, Places, box_round
from workers.documents.drawing.sheet import Sheet
from workers.documents.texts import Texts

ROW = 5.2  # millimetres of paper from one row of dimensions to the next
_CLOSEST = 7.0  # marks nearer than this on paper make a row unreadable
_MOST_IN_ROW = 9


def draw_allowances(
    outline: Sequence[tuple[int, int]], allowances: Sequence[EdgeAllowance], sheet: Sheet, pen: Pen,
    places: Places, texts: Texts,
) -> None:  # fmt: skip
    """Along each edge, outside, what happens to the layer there; an arrow where it returns round a corner."""
    outward = -1 if signed_area(outline) > 0 else 1
    size = 3.3
    by_edge = {allowance.edge: allowance for allowance in allowances}
    for edge, start in enumerate(outline):
        allowance = by_edge.get(edge)
        if allowance is None:
            continue
        here, after = sheet.at(start), sheet.at(outline[(edge + 1) % len(outline)])
        length = math.dist(here, after)
        if length < 3:
            continue
        along = ((after[0] - here[0]) / length, (after[1] - here[1]) / length)
        away = (outward * along[1], -outward * along[0])  # paper's y runs down
        returns = allowance.role == "returns"
        off = 2.8 + allowance.allowance_mm / sheet.scale
        choices: list[tuple[str, float, Point, Box]] = []  # the whole word first, then the figure alone
        for words in (
            texts(f"drawing.edge.{allowance.role}", allowance=allowance.allowance_mm),
            str(allowance.allowance_mm),
        ):
            width = text_width(words, size) + (3.4 if returns else 0)
            reach = (
                abs(along[0]) * width + abs(along[1]) * size,
                abs(along[1]) * width + abs(along[0]) * size,
            )
            if width > length and not words.isdigit():
                continue
            for further, part in itertools.product((0, 3.6), _parts(width / length)):
                spot = (
                    here[0] + part * length * along[0] + away[0] * (off + further),
                    here[1] + part * length * along[1] + away[1] * (off + further),
                )
                choices.append((words, width, spot, box_round(*spot, *reach)))
        words, width, (x, y), _ = choices[places.freest([choice[3] for choice in choices])]
        angle = math.degrees(math.atan2(along[1], along[0]))
        angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
        angle = -90.0 if abs(angle - 90) < 0.01 else angle
        shift = 1.7 if returns else 0.0
        cosine, sine = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        pen.text(
            (x + shift * cosine, y + shift * sine), words, size, turned=angle, bold=returns, fill=look.INK
        )
        if returns:
            tail = (x - (width / 2 - 1.0) * cosine, y - (width / 2 - 1.0) * sine)
            draw_return_arrow(pen, tail, away)


def _parts(share: float) -> list[float]:
    """Where along an edge a word may stand that takes this share of it: the middle first, then off to the ends."""
    room = max(0.0, (1 - share) / 2)
    return [0.5 + side * room for side in (0, -0.35, 0.35, -0.7, 0.7, -1, 1)]


def draw_return_arrow(pen: Pen, at: Point, away: Point) -> None:
    """A small solid arrow that points the way the layer returns."""
    x, y = at
    side = (-away[1], away[0])
    tip = (x + away[0] * 1.3, y + away[1] * 1.3)
    base = [
        (x - away[0] * 0.9 + sign * side[0] * 1.1, y - away[1] * 0.9 + sign * side[1] * 1.1)
        for sign in (1, -1)
    ]
    pen.shape([[tip, *base]], fill=look.INK)


def rows_of(values: Sequence[int], scale: int) -> list[list[int]]:
    """The rows of dimensions along one side: a chain where the outline has steps there, and the whole."""
    marks = sorted(set(values))
    whole = [marks[0], marks[-1]]
    apart = all((b - a) / scale >= _CLOSEST for a, b in itertools.pairwise(marks))
    return [marks, whole] if 2 < len(marks) <= _MOST_IN_ROW and apart else [whole]


def draw_dimensions(outline: Sequence[tuple[int, int]], sheet: Sheet, pen: Pen) -> None:
    """Rows of dimensions below and to the left of the outline; figures are whole millimetres."""
    left, bottom, _right, _top = box_of(outline)
    for index, row in enumerate(rows_of([u for u, _ in outline], sheet.scale)):
        y = sheet.first_below + index * ROW
        for a, b in itertools.pairwise(row):
            _dimension(pen, (sheet.at((a, bottom))[0], y), (sheet.at((b, bottom))[0], y), str(b - a))
    for index, row in enumerate(rows_of([v for _, v in outline], sheet.scale)):
        x = sheet.first_left - index * ROW
        for a, b in itertools.pairwise(row):
            _dimension(pen, (x, sheet.at((left, a))[1]), (x, sheet.at((left, b))[1]), str(b - a))


def _dimension(pen: Pen, start: Point, end: Point, words: str) -> None:
    size = 3.6
    upright = abs(end[0] - start[0]) < abs(end[1] - start[1])
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    with pen.group(stroke=look.INK, stroke_width=look.THIN):
        pen.lines([[start, end]])
        ticks = [[(px - 0.9, py + 0.9), (px + 0.9, py - 0.9)] for px, py in (start, end)]
        pen.lines(ticks, stroke_width=0.35)
        feet = [
            [(px, py - 1.6), (px, py + 1.6)] if not upright else [(px - 1.6, py), (px + 1.6, py)]
            for px, py in (start, end)
        ]
        pen.lines(feet)
    if upright:
        pen.text((x - 2.1, y), words, size, turned=-90, fill=look.INK)
    else:
        pen.text((x, y - 2.1), words, size, fill=look.INK)
