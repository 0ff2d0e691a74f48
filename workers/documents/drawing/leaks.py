"""Leaks found with the fan running, on the drawing of their surface: a numbered flag each, ticked once sealed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from api_schema.pressure_test import LeakNote
from api_schema.surface import Surface
from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point, box_of
from workers.documents.drawing.pen import Pen
from workers.documents.drawing.places import Places, box_round
from workers.documents.drawing.sheet import Sheet

LEAK = "#a31515"
_RADIUS, _SIZE = 2.1, 2.8


def leaks_of(
    surface: Surface, leaks: Sequence[LeakNote]
) -> Iterator[tuple[int, LeakNote, tuple[float, float]]]:
    """The leaks of a surface whose place is known, numbered from 1 as they stand among all that were noted.

    A leak lies where its note says, else at the penetration or in the middle of the opening that it names.
    """
    named: dict[str, tuple[float, float]] = {}
    for opening in surface.openings:
        left, bottom, right, top = box_of(opening.outline_mm)
        named[opening.id] = ((left + right) / 2, (bottom + top) / 2)
    for penetration in surface.penetrations:
        named[penetration.id] = (float(penetration.at_mm[0]), float(penetration.at_mm[1]))
    for number, leak in enumerate(leaks, start=1):
        at = leak.at_mm if leak.at_mm is not None else named.get(leak.detail)
        if leak.surface == surface.id and at is not None:
            yield number, leak, (float(at[0]), float(at[1]))


def draw_leaks(surface: Surface, leaks: Sequence[LeakNote], sheet: Sheet, pen: Pen, places: Places) -> None:
    """A flag beside each leak, on a short leader, where it covers least."""
    for number, leak, at in leaks_of(surface, leaks):
        x, y = sheet.at(at)
        spots = [
            (x + dx * off, y + dy * off)
            for off in (5.0, 8.0, 12.0)
            for dx, dy in (
                (0.7, -0.7),
                (-0.7, -0.7),
                (0.7, 0.7),
                (-0.7, 0.7),
                (0, -1),
                (1, 0),
                (-1, 0),
                (0, 1),
            )
        ]
        side = 2 * _RADIUS + 0.6
        chosen = spots[places.freest([box_round(*spot, side, side) for spot in spots])]
        pen.lines([[(x, y), chosen]], stroke=LEAK, stroke_width=look.THIN * 1.5)
        pen.circle((x, y), 0.6, fill=LEAK)
        draw_flag(pen, chosen, str(number), sealed=leak.sealed)


def draw_flag(pen: Pen, at: Point, number: str, *, sealed: bool) -> None:
    """A ringed number; grey with a tick on its rim where the leak has been sealed since."""
    colour = look.SOFT_INK if sealed else LEAK
    pen.circle(at, _RADIUS, fill=look.PAPER, stroke=colour, stroke_width=0.45)
    pen.text(at, number, _SIZE, bold=True, fill=colour)
    if sealed:
        x, y = at[0] + _RADIUS * 0.75, at[1] - _RADIUS * 0.8
        pen.lines(
            [[(x - 0.9, y - 0.1), (x - 0.1, y + 0.8), (x + 1.4, y - 1.3)]], stroke=look.INK, stroke_width=look.WIDE
        )  # fmt: skip
