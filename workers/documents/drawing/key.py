"""The key, the scale and its bar, under a drawing; only what the drawing uses is explained."""

from __future__ import annotations

from collections.abc import Callable

from workers.documents.drawing import sheet as look
from workers.documents.drawing.edges import draw_return_arrow
from workers.documents.drawing.geometry import Point
from workers.documents.drawing.holes import draw_sign
from workers.documents.drawing.leaks import draw_flag
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.sheet import Sheet
from workers.documents.drawing.zero import draw_zero
from workers.documents.texts import Texts

_SIZE, _LINE, _SIGN, _GAP = 3.3, 5.6, 7.6, 4.6
_LOOSEST = 12.0  # what a column of entries is set apart at most, where there is room


def _box(at: Point, wide: float = 7.0, high: float = 3.0) -> list[Point]:
    x, y = at
    return [(x, y - high / 2), (x + wide, y - high / 2), (x + wide, y + high / 2), (x, y + high / 2)]


def _start(pen: Pen, at: Point) -> None:
    pen.circle((at[0] + 5, at[1]), 2.0, fill=look.INK)
    pen.text((at[0] + 5, at[1]), "1", 3.2, bold=True, fill=look.PAPER)


def _zero(pen: Pen, at: Point) -> None:
    draw_zero(pen, (at[0] + 5, at[1]))


def _strip(pen: Pen, at: Point) -> None:
    pen.shape([_box(at, 3.5)], fill=look.TINTS[0])
    pen.shape([_box((at[0] + 3.5, at[1]), 3.5)], fill=look.TINTS[1])


def _piece(pen: Pen, at: Point) -> None:
    pen.shape([_box(at)], fill="none", stroke=look.CUT, stroke_width=look.THIN, stroke_dasharray="1.6 0.8")


def _joint(pen: Pen, at: Point) -> None:
    pen.lines([[at, (at[0] + 7, at[1])]], stroke=look.JOINT_LINE, stroke_width=look.JOINT)


def _splice(pen: Pen, at: Point) -> None:
    pen.lines(
        [[at, (at[0] + 7, at[1])]],
        stroke=look.JOINT_LINE,
        stroke_width=look.JOINT,
        stroke_dasharray=look.SPLICE_DASH,
    )


def _lap(pen: Pen, at: Point) -> None:
    x, y = at
    pen.lines(
        [[(x + step, y + 1.2), (x + step + 1.3, y - 1.2)] for step in (0.0, 1.3, 2.6, 3.9, 5.2)],
        stroke=look.LAP_HATCH,
        stroke_width=look.THIN,
    )


def _member(pen: Pen, at: Point) -> None:
    pen.lines(
        [[at, (at[0] + 7, at[1])]],
        stroke=look.MEMBER,
        stroke_width=look.THIN,
        stroke_dasharray="3 0.6 0.3 0.6",
    )


def _opening(pen: Pen, at: Point) -> None:
    box = _box(at)
    pen.shape([box], fill=look.PAPER, stroke=look.INK, stroke_width=0.35)
    pen.lines([[box[0], box[2]], [box[1], box[3]]], stroke=look.SOFT_INK, stroke_width=look.THIN)


def _returns(pen: Pen, at: Point) -> None:
    draw_return_arrow(pen, (at[0] + 5.6, at[1]), (1.0, 0.0))


def _sign(method: str, *, round_: bool) -> Callable[[Pen, Point], None]:
    return lambda pen, at: draw_sign(pen, (at[0] + 5, at[1]), (0.9, 0.9), method, round_=round_)


def _leak(*, sealed: bool) -> Callable[[Pen, Point], None]:
    return lambda pen, at: draw_flag(pen, (at[0] + 5, at[1]), "1", sealed=sealed)


_SIGNS: dict[str, Callable[[Pen, Point], None]] = {
    "start": _start,
    "zero": _zero,
    "strip": _strip,
    "piece": _piece,
    "joint": _joint,
    "splice": _splice,
    "lap": _lap,
    "member": _member,
    "opening": _opening,
    "returns": _returns,
    "collar": _sign("collar", round_=True),
    "taped": _sign("taped", round_=True),
    "section_taped": _sign("section_taped", round_=False),
    "non_combustible": _sign("non_combustible", round_=True),
    "leak": _leak(sealed=False),
    "leak_sealed": _leak(sealed=True),
}
ENTRIES = tuple(_SIGNS)


def draw_key(pen: Pen, entries: list[str], fixing: str, sheet: Sheet, texts: Texts) -> float:
    """Draws the scale, its bar and the entries under the sheet's drawing; returns where it ends."""
    width, y = sheet.width, sheet.height + 4.0
    _scale_bar(pen, sheet.scale, y, texts)
    pen.text((width, y - 1.9), fixing, _SIZE, anchor="end", bold=True, fill=look.INK)
    pen.text((width, y + 1.9), texts("key.units"), _SIZE, anchor="end", fill=look.SOFT_INK)
    y += _LINE + 1.6
    wide = [_SIGN + 1.2 + text_width(texts(f"key.{entry}"), _SIZE) + _GAP for entry in entries]
    columns = _columns(wide, width)
    spare = min(_LOOSEST, (width + _GAP - sum(columns)) / max(1, len(columns)))
    for index, entry in enumerate(entries):
        row, column = divmod(index, len(columns))
        at = (sum(columns[:column]) + column * spare, y + row * _LINE)
        _SIGNS[entry](pen, at)
        pen.text((at[0] + _SIGN + 1.2, at[1]), texts(f"key.{entry}"), _SIZE, anchor="start", fill=look.INK)
    return y + (-(-len(entries) // max(1, len(columns))) - 0.5) * _LINE


def _columns(wide: list[float], width: float) -> list[float]:
    """How wide the columns of entries are: in as few rows as can be, and of those rows filled as evenly as can be."""
    columns: list[float] = []
    for count in range(len(wide), 0, -1):
        here = [max(wide[at::count]) for at in range(count)]
        rows, rows_before = -(-len(wide) // count), -(-len(wide) // max(1, len(columns)))
        if sum(here) - _GAP <= width and (not columns or rows == rows_before):
            columns = here
    return columns


def _scale_bar(pen: Pen, scale: int, y: float, texts: Texts) -> None:
    words = texts("drawing.scale", scale=scale)
    pen.text((0, y), words, 3.4, anchor="start", bold=True, fill=look.INK)
    x = text_width(words, 3.4) + 7
    step_mm = next(
        (step for step in (200, 500, 1000, 2000, 5000, 10_000, 50_000, 100_000) if step / scale >= 9), 500_000
    )
    step = step_mm / scale
    for index in range(4):
        left = x + index * step
        box = [(left, y - 0.2), (left + step, y - 0.2), (left + step, y + 1.2), (left, y + 1.2)]
        pen.shape(
            [box], fill=look.INK if index % 2 == 0 else look.PAPER, stroke=look.INK, stroke_width=look.THIN
        )
    for index in (0, 2, 4):
        metres = index * step_mm / 1000
        shown = f"{metres:g}" + (f" {texts('drawing.scale_unit')}" if index == 4 else "")
        pen.text((x + index * step, y - 2.1), shown, 3.2, fill=look.INK)
