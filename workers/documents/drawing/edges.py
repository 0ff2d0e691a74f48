"""The outline's edges on paper: how far the layer is carried past each, and the dimensions of the outline."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

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
_SHORTEST = 3.0  # an edge shorter than this on paper is left without words
_SIZE = 3.3


@dataclass(frozen=True, slots=True)
class _Edge:
    """An edge on paper: where it starts, how long it is, which way it runs and which way is out."""

    start: Point
    length: float
    along: Point
    away: Point

    def at(self, part: float, off: float) -> Point:
        """A point beside the edge: that part of the way along it, that far out."""
        return (
            self.start[0] + part * self.length * self.along[0] + off * self.away[0],
            self.start[1] + part * self.length * self.along[1] + off * self.away[1],
        )

    def boxes(self, middle: Point, width: float, height: float) -> list[Box]:
        """The boxes of words written along the edge: one where it is upright or level, else one a letter or so."""
        along_x, along_y = abs(self.along[0]), abs(self.along[1])
        if min(along_x, along_y) < 0.01:
            return [
                box_round(*middle, along_x * width + along_y * height, along_y * width + along_x * height)
            ]
        steps = math.ceil(width / height)
        offsets = [((index + 0.5) / steps - 0.5) * width for index in range(steps)]
        return [
            box_round(middle[0] + off * self.along[0], middle[1] + off * self.along[1], height, height)
            for off in offsets
        ]

    @property
    def angle(self) -> float:
        """Degrees that words are turned by, so that they read from below or from the right."""
        angle = math.degrees(math.atan2(self.along[1], self.along[0]))
        angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
        return -90.0 if abs(angle - 90) < 0.01 else angle


def draw_allowances(
    outline: Sequence[tuple[int, int]], allowances: Sequence[EdgeAllowance], sheet: Sheet, pen: Pen,
    places: Places, texts: Texts,
) -> None:  # fmt: skip
    """Along each edge, outside, what happens to the layer there; an arrow where it returns round a corner."""
    outward = -1 if signed_area(outline) > 0 else 1
    for allowance in allowances:
        here = sheet.at(outline[allowance.edge])
        after = sheet.at(outline[(allowance.edge + 1) % len(outline)])
        length = math.dist(here, after)
        if length < _SHORTEST:
            continue
        along = ((after[0] - here[0]) / length, (after[1] - here[1]) / length)
        away = (outward * along[1], -outward * along[0])  # paper's y runs down
        _write_allowance(_Edge(here, length, along, away), allowance, sheet, pen, places, texts)


def _write_allowance(
    edge: _Edge, allowance: EdgeAllowance, sheet: Sheet, pen: Pen, places: Places, texts: Texts
) -> None:
    """The words where nothing else stands: whole, close by and in the middle if it can be, else the figure alone."""
    returns = allowance.role == "returns"
    off = 2.8 + allowance.allowance_mm / sheet.scale
    figure = str(allowance.allowance_mm)
    choices: list[tuple[str, float, Point]] = []
    bare = allowance.role == "open" and not allowance.allowance_mm
    role = texts("drawing.edge.open_bare" if bare else f"drawing.edge.{allowance.role}", allowance=figure)
    for words in (role,) if bare else (role, figure):
        width = text_width(words, _SIZE) + (3.4 if returns else 0)
        if width <= edge.length or words == figure:
            choices += [
                (words, width, edge.at(part, off + further))
                for further in (0.0, 3.6)
                for part in _parts(width / edge.length)
            ]
    if not choices:
        return
    groups = [edge.boxes(middle, width, 0.8 * _SIZE) for _, width, middle in choices]
    words, width, (x, y) = choices[places.freest_group(groups)]
    shift = 1.7 if returns else 0.0
    cosine, sine = math.cos(math.radians(edge.angle)), math.sin(math.radians(edge.angle))
    pen.text(
        (x + shift * cosine, y + shift * sine), words, _SIZE, turned=edge.angle, bold=returns, fill=look.INK
    )
    if returns:
        back = width / 2 - 1.0
        draw_return_arrow(pen, (x - back * cosine, y - back * sine), edge.away)


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


def keep_dimensions_clear(sheet: Sheet, places: Places) -> None:
    """Takes the room of the rows of dimensions, before anything else is written."""
    places.take((0.0, sheet.first_below - 4.0, sheet.width, sheet.height + ROW))
    places.take((0.0, 0.0, sheet.first_left + 1.0, sheet.height))


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
