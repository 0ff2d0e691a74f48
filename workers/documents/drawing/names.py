"""Names beside what they name: close by where there is room, else further off on a thin leader.

Things that are alike and stand close together, such as cables side by side, get one name for all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from api_schema.surface import Penetration
from api_schema.take_off import Sealing
from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point, box_of
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.places import Box, Places, box_round
from workers.documents.drawing.sheet import Sheet

_SIZE, _OFF = 3.6, 1.0  # of the type; how far a name keeps off at least
_RINGS = (0.6, 3.0, 6.0, 10.0, 15.0, 21.0, 28.0)
_WAYS = ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (1, 1), (-1, -1), (-1, 1))
_CLOSE_MM, _FEWEST_TOGETHER, _MOST_RANGES = 6.0, 4, 3


@dataclass(frozen=True, slots=True)
class Named:
    """Something on paper and what to write beside it, the fullest words first."""

    words: tuple[str, ...]
    middle: Point
    half: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Sign:
    """A penetration as it stands on paper."""

    of: Penetration
    size: str
    middle: Point
    half: tuple[float, float]


def named(signs: Sequence[Sign], methods: Mapping[str, Sealing]) -> Iterator[Named]:
    """What to write beside which signs."""
    for together in _close_together(signs, methods):
        first = signs[together[0]]
        if len(together) < _FEWEST_TOGETHER:
            for index in together:
                one = signs[index]
                between = ": " if one.of.count > 1 else " "
                words = between.join(filter(None, (one.of.id, one.size)))
                yield Named((words, one.of.id), one.middle, one.half)
        else:
            corners = [
                (x + way * wide, y + way * high)
                for x, y, wide, high in ((*signs[index].middle, *signs[index].half) for index in together)
                for way in (-1, 1)
            ]
            left, top, right, bottom = box_of(corners)
            names = ranges([signs[index].of.id for index in together])
            yield Named(
                (f"{names} {first.size}".strip(), names),
                ((left + right) / 2, (top + bottom) / 2),
                ((right - left) / 2, (bottom - top) / 2),
            )


def write(things: Sequence[Named], sheet: Sheet, pen: Pen, places: Places) -> None:
    """Writes each name at the first free place round what it names, or where it covers least."""
    for thing in things:
        _write(thing, sheet, pen, places)


def _write(thing: Named, sheet: Sheet, pen: Pen, places: Places) -> None:
    tried = []
    for words, ring, at, box in _spots(thing):
        if sheet.has_room(box):
            covered = places.overlap(box)
            tried.append((round(covered, 3), len(tried), at, box, ring, words))
            if not covered:
                break
    if not tried:  # nothing of the sheet is free of dimensions
        return
    *_, (x, y), box, ring, words = min(tried)
    places.take(box)
    if ring > _RINGS[0]:
        start = _nearest((x, y), box_round(*thing.middle, 2 * thing.half[0], 2 * thing.half[1]))
        end = _nearest(start, box)
        pen.lines([[start, end]], stroke=look.INK, stroke_width=look.THIN)
        places.take_line([start, end], 0.3)
    left, top, right, bottom = box
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    pen.shape([corners], fill=look.PAPER, fill_opacity=0.85)
    pen.text((x, y), words, _SIZE, bold=True, fill=look.INK)


def _spots(thing: Named) -> Iterator[tuple[str, float, Point, Box]]:
    """Where the words may stand: the fullest close by first, then further off, then shorter ones."""
    height = _SIZE * 1.05
    for words in thing.words:
        width = text_width(words, _SIZE) + 0.4
        for ring in _RINGS:
            for right, down in _WAYS:
                x = thing.middle[0] + right * (thing.half[0] + _OFF + ring + width / 2)
                y = thing.middle[1] + down * (thing.half[1] + _OFF + ring + height / 2)
                yield words, ring, (x, y), box_round(x, y, width, height)


def _nearest(to: Point, box: Box) -> Point:
    """The point of a box that lies nearest to another."""
    left, top, right, bottom = box
    return (min(max(to[0], left), right), min(max(to[1], top), bottom))


def _close_together(signs: Sequence[Sign], methods: Mapping[str, Sealing]) -> list[list[int]]:
    """Signs that are alike and each within reach of another, by their places in `signs`; others each for itself."""
    cells: dict[tuple[object, ...], list[int]] = {}
    alike = []
    for index, one in enumerate(signs):
        sealing = methods.get(one.of.id)
        alike.append((one.of.kind, one.size, None if sealing is None else (sealing.method, sealing.product)))
        cells.setdefault((alike[index], *_cell(one.middle)), []).append(index)
    found, seen = [], [False] * len(signs)
    for start in range(len(signs)):
        if seen[start]:
            continue
        seen[start] = True
        group, at = [start], 0
        while at < len(group):
            here = group[at]
            at += 1
            column, row = _cell(signs[here].middle)
            for other in (
                other
                for across in (-1, 0, 1)
                for down in (-1, 0, 1)
                for other in cells.get((alike[here], column + across, row + down), ())
            ):
                if not seen[other] and _is_close(signs[here].middle, signs[other].middle):
                    seen[other] = True
                    group.append(other)
        found.append(sorted(group))
    return found


def _cell(at: Point) -> tuple[int, int]:
    return int(at[0] // _CLOSE_MM), int(at[1] // _CLOSE_MM)


def _is_close(one: Point, other: Point) -> bool:
    return abs(one[0] - other[0]) <= _CLOSE_MM and abs(one[1] - other[1]) <= _CLOSE_MM


def ranges(names: Sequence[str]) -> str:
    """ "c1–c4, c7"; the first and last alone where there are too many ranges to write."""
    runs: list[list[str]] = []
    before: tuple[str, int] | None = None
    for name in names:
        split = re.fullmatch(r"(.*?)(\d{1,9})", name)
        here = (split[1], int(split[2])) if split else None
        if here is not None and before is not None and here == (before[0], before[1] + 1):
            runs[-1].append(name)
        else:
            runs.append([name])
        before = here
    if len(runs) > _MOST_RANGES:
        return f"{names[0]} … {names[-1]}"
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)
