"""Openings and penetrations on paper, each penetration with the sign of how it is sealed."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from api_schema.surface import Opening, Penetration
from api_schema.take_off import Sealing
from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point, box_of
from workers.documents.drawing.names import Named, Sign
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.places import Box, Places, box_round
from workers.documents.drawing.sheet import Sheet
from workers.documents.texts import Texts

_SMALLEST_RADIUS = 0.9  # millimetres of paper: a cable still has to be seen
_RING = 1.0  # how far the sign of the sealing stands off the pipe


def draw_openings(
    openings: Sequence[Opening], sheet: Sheet, pen: Pen, places: Places, texts: Texts
) -> list[Named]:
    """Each opening white with thin diagonals, its name and size in the middle; gives those it does not fit into."""
    unnamed = []
    for opening in openings:
        ring = sheet.all(opening.outline_mm)
        left, top, right, bottom = box_of(ring)
        pen.shape([ring], fill=look.PAPER, stroke=look.INK, stroke_width=0.35)
        if len(ring) == 4:
            pen.lines([[ring[0], ring[2]], [ring[1], ring[3]]], stroke=look.SOFT_INK, stroke_width=look.THIN)
        places.take((left, top, right, bottom))
        if not _name_opening(opening, (left, top, right, bottom), pen, texts):
            middle, half = ((left + right) / 2, (top + bottom) / 2), ((right - left) / 2, (bottom - top) / 2)
            unnamed.append(Named((opening.id,), middle, half))
    return unnamed


def _name_opening(opening: Opening, box: Box, pen: Pen, texts: Texts) -> bool:
    left, bottom, right, top = box_of(opening.outline_mm)
    lines = [f"{opening.id} {texts('kind.' + opening.kind)}", f"{right - left:.0f} × {top - bottom:.0f}"]
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    wide, high = box[2] - box[0] - 1.0, box[3] - box[1] - 1.0
    parts = re.findall(r"[^-]+-?", opening.id)
    for shown, size in (
        (lines, 4.2), (lines, 3.6), (lines, 3.2), (lines[:1], 3.2), ([opening.id], 3.2), (parts, 3.2),
    ):  # fmt: skip
        width, height = max(text_width(line, size) for line in shown), size * 1.25 * len(shown)
        for turned in (0, -90):
            across, along = (height, width) if turned else (width, height)
            if across <= wide and along <= high:
                x0, y0, x1, y1 = box_round(*middle, across + 0.8, along + 0.4)
                pen.shape([[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]], fill=look.PAPER)
                for index, line in enumerate(shown):
                    off = (index - (len(shown) - 1) / 2) * size * 1.25
                    at = (middle[0] + off, middle[1]) if turned else (middle[0], middle[1] + off)
                    bold = index == 0 or shown is parts
                    pen.text(at, line, size, turned=turned, bold=bold, fill=look.INK)
                return True
    return False


def half_size(penetration: Penetration, sheet: Sheet) -> tuple[float, float]:
    """Half its width and height on paper, never too small to see."""
    width = penetration.diameter_mm or penetration.width_mm or 0
    height = penetration.diameter_mm or penetration.height_mm or penetration.width_mm or 0
    return (
        max(_SMALLEST_RADIUS, width / 2 / sheet.scale),
        max(_SMALLEST_RADIUS, height / 2 / sheet.scale),
    )


def size_in_words(penetration: Penetration) -> str:
    """ "Ø110", "70 × 220", "3 × Ø9"."""
    if penetration.diameter_mm:
        size = f"Ø{penetration.diameter_mm}"
    elif penetration.width_mm:
        size = f"{penetration.width_mm} × {penetration.height_mm or penetration.width_mm}"
    else:
        size = ""
    return f"{penetration.count} × {size}" if penetration.count > 1 else size


def draw_penetrations(
    penetrations: Sequence[Penetration], methods: dict[str, Sealing], sheet: Sheet, pen: Pen, places: Places
) -> None:
    """Each penetration with its sign; names are written afterwards, when every sign has its place."""
    middles = [sheet.at(penetration.at_mm) for penetration in penetrations]
    for penetration, middle in zip(penetrations, middles, strict=True):
        half = half_size(penetration, sheet)
        sealing = methods.get(penetration.id)
        method = sealing.method if sealing else None
        draw_sign(pen, middle, half, method, round_=is_round(penetration), all_middles=middles)
        reach = _RING + 0.5
        places.take(box_round(*middle, 2 * (half[0] + reach), 2 * (half[1] + reach)))


def is_round(penetration: Penetration) -> bool:
    """Whether it is drawn as a circle."""
    return penetration.diameter_mm is not None


def draw_sign(
    pen: Pen, middle: Point, half: tuple[float, float], method: str | None, *, round_: bool,
    all_middles: Sequence[Point] = (),
) -> None:  # fmt: skip
    """A penetration: a ring for a collar, short strokes round it for tape, a warning triangle where it is hot.

    Strokes that would run into another penetration, of those in the middle of `all_middles`, are left out.
    """
    x, y = middle
    with pen.group(stroke=look.INK, stroke_width=0.35):
        if method == "collar" and round_:
            pen.circle(middle, half[0] + _RING, fill=look.PAPER)
        if method in ("taped", "section_taped"):
            strokes = [
                stroke
                for stroke in _strokes(middle, half, round_=round_)
                if all(
                    other == middle or math.dist(stroke[1], middle) <= math.dist(stroke[1], other)
                    for other in all_middles
                )
            ]
            pen.lines(strokes, stroke=look.JOINT_LINE, stroke_width=0.5)
        if method == "non_combustible":
            reach = max(half) + 1.6
            corners = [
                (x + reach * 1.25 * math.sin(angle), y - reach * 1.25 * math.cos(angle))
                for angle in (0, 2 * math.pi / 3, 4 * math.pi / 3)
            ]
            pen.shape([corners], fill="#f3c43c")
        if round_:
            pen.circle(middle, half[0], fill=look.SOFT_INK)
        else:
            pen.shape(
                [[(x - half[0], y - half[1]), (x + half[0], y - half[1]), (x + half[0], y + half[1]), (x - half[0], y + half[1])]],
                fill=look.SOFT_INK,
            )  # fmt: skip


def _strokes(middle: Point, half: tuple[float, float], *, round_: bool) -> list[list[Point]]:
    x, y = middle
    lines = []
    for index in range(8):
        dx, dy = math.cos(index * math.pi / 4), math.sin(index * math.pi / 4)
        if not round_:  # out to the sides of the section, not to a circle
            longest = max(abs(dx), abs(dy))
            dx, dy = dx / longest, dy / longest
        lines.append(
            [
                (x + dx * (half[0] + 0.1), y + dy * (half[1] + 0.1)),
                (x + dx * (half[0] + 1.4), y + dy * (half[1] + 1.4)),
            ]
        )
    return lines


def signs_of(penetrations: Sequence[Penetration], sheet: Sheet) -> list[Sign]:
    """The penetrations as they stand on paper, to be named."""
    return [Sign(one, size_in_words(one), sheet.at(one.at_mm), half_size(one, sheet)) for one in penetrations]
