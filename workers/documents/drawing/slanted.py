"""A small sketch of two pieces parted by a slanted cut, face up, the start of the roll to the left."""

from __future__ import annotations

from collections.abc import Mapping

from api_schema.cut_list import SlantedCut
from api_schema.slanted import SlantedPiece
from workers.documents.drawing import sheet as look
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.strips import short_name
from workers.documents.texts import Texts

_NAME, _SIZE = 3.2, 3.2


def draw_slanted(
    cut: SlantedCut,
    pieces: Mapping[str, SlantedPiece],
    texts: Texts,
    *,
    wide: float,
    high: float,
    mine: str = "",
) -> bytes:
    """The pair as SVG, `wide` by `high` millimetres; the piece `mine` is the dark one.

    Without `mine` the lengths of both edges of both pieces are written along them, which takes about 60 by 16 mm. The
    slant is drawn as steep as it is along the run; across the run there is no scale.
    """
    pen = Pen()
    left, right = (pieces[name] for name in cut.pieces)
    edge = 0.0 if mine else _SIZE + 1.0
    top, bottom = edge + 0.3, high - edge - 0.3
    start = max(cut.near_mm, cut.far_mm) - left.long_mm
    whole = min(cut.near_mm, cut.far_mm) + right.long_mm - start
    scale = (wide - 0.6) / whole
    near, far = (0.3 + (at - start) * scale for at in (cut.near_mm, cut.far_mm))
    stop = wide - 0.3
    for piece, ring, tint in (
        (left, [(0.3, top), (far, top), (near, bottom), (0.3, bottom)], look.TINTS[0]),
        (right, [(far, top), (stop, top), (stop, bottom), (near, bottom)], look.TINTS[1]),
    ):
        fill = look.LAP_HATCH if piece.piece == mine else tint
        pen.shape([ring], fill=fill, stroke=look.INK, stroke_width=look.THIN)
    pen.lines([[(near, bottom), (far, top)]], stroke=look.INK, stroke_width=look.WIDE)
    middle = (near + far) / 2
    for piece, at, room in (
        (left, (0.3 + middle) / 2, middle - 0.3),
        (right, (middle + stop) / 2, stop - middle),
    ):
        words = short_name(piece.piece)
        if piece.turned and not mine:
            words = texts("slanted.turned_short", piece=words)
        if text_width(words, _NAME) < room - 1:
            ink = look.PAPER if piece.piece == mine else look.INK
            pen.text((at, (top + bottom) / 2), words, _NAME, bold=True, fill=ink)
    if not mine:
        for y, ends, at in ((high - _SIZE / 2, near, cut.near_mm), (_SIZE / 2, far, cut.far_mm)):
            pen.text(((0.3 + ends) / 2, y), str(at - start), _SIZE, fill=look.INK)
            pen.text(((ends + stop) / 2, y), str(whole - (at - start)), _SIZE, fill=look.INK)
    title = texts("slanted.alt", left=left.piece, right=right.piece)
    return pen.svg(wide, high, title, texts.language)
