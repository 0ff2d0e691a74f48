"""What a surface's page leaves empty, reckoned before it is laid out, and the lines to write on that fill it.

The reckoning is on the safe side: letters are taken for wider than they come out, since a few lines fewer do no harm
and one too many would open a page for them. Whether a page runs over is reckoned on the other side, with letters as
wide as they are: only what surely runs over is drawn smaller.
"""

from __future__ import annotations

from collections.abc import Iterable

from workers.documents.drawing import sheet as look
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.sheet import height_mm, lies_across

_PAGE_MM, _ACROSS_MM = 261.0, 174.0  # between the running head and the foot; of a page on its side
_LETTER_MM = 2.45  # a letter of the tables, on the wide side
_HEADINGS_MM = 41.0  # the page's own, the drawing's margins, the head of the strips, the boxes to tick
_LEAST_HEADINGS_MM = 38.0  # the same where what is done on the page is said in one line
_TYPE_MM = 4.41  # of a cell
_SECTION_MM = 17.0  # the heading and head of the penetrations
_ROW_MM, _LINE_MM = 7.7, 5.4
_PALE = "#b9c1c8"
_APART_MM, _FEWEST, _MOST, _ABOVE_MM = 9.0, 3, 8, 12.0


def rows_mm(rows: Iterable[Iterable[tuple[str, float]]]) -> float:
    """How high table rows come out at most: of each, the words of its cells and how wide those are."""
    high = 0.0
    for cells in rows:
        lines = max(-(-len(words) * _LETTER_MM // wide) for words, wide in cells)
        high += _ROW_MM + max(0.0, lines - 1) * _LINE_MM
    return high


def runs_over_mm(
    drawing: bytes, strips: Iterable[Iterable[tuple[str, float]]], holes: Iterable[Iterable[tuple[str, float]]],
    notes: int,
) -> float:  # fmt: skip
    """How much of a drawing and its tables surely finds no room on one page; below 0 how much is left at most."""
    sealed = _set_mm(holes)
    used = _LEAST_HEADINGS_MM + height_mm(drawing) + _set_mm(strips) + notes * _LINE_MM
    used += _SECTION_MM + sealed if sealed else 0.0
    return used - (_ACROSS_MM if lies_across(drawing) else _PAGE_MM)


def _set_mm(rows: Iterable[Iterable[tuple[str, float]]]) -> float:
    """How high table rows come out at least."""
    lines = [max(-(-text_width(words, _TYPE_MM) // wide) for words, wide in cells) for cells in rows]
    return sum(_ROW_MM + max(0.0, many - 1) * _LINE_MM for many in lines)


def lines_left(drawing: bytes, strips_mm: float, penetrations_mm: float, notes: int) -> int:
    """How many lines to write on find room under a drawing and its tables; 0 where it is too little to be of use."""
    used = _HEADINGS_MM + height_mm(drawing) + strips_mm + notes * 2 * _LINE_MM
    used += _SECTION_MM + penetrations_mm if penetrations_mm else 0.0
    count = int((_PAGE_MM - used - _ABOVE_MM) // _APART_MM)
    return min(count, _MOST) if count >= _FEWEST else 0


def draw_lines(count: int, title: str, language: str) -> bytes:
    """Lines to write on, as SVG as wide as the page."""
    pen = Pen()
    pen.lines(
        [[(0.0, _APART_MM * row), (look.WIDEST_MM, _APART_MM * row)] for row in range(1, count + 1)],
        stroke=_PALE,
        stroke_width=look.THIN,
    )
    return pen.svg(look.WIDEST_MM, _APART_MM * count + 0.5, title, language)
