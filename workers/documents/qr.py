"""An address as a QR code (ISO/IEC 18004), drawn by the same pen as everything else."""

from __future__ import annotations

import segno

from workers.documents.drawing import sheet as look
from workers.documents.drawing.pen import Pen

_QUIET = 4  # modules left white on every side, as the standard asks


def draw_qr(address: str, side_mm: float, title: str, language: str) -> bytes:
    """The address as SVG, `side_mm` wide and high with its quiet zone, a quarter of it readable though soiled."""
    rows = [bytes(row) for row in segno.make_qr(address, error="q").matrix]
    module = side_mm / (len(rows) + 2 * _QUIET)
    pen = Pen()
    dark = [_run(left, line, wide, module) for line, row in enumerate(rows) for left, wide in _runs(row)]
    pen.shape(dark, fill=look.INK)
    return pen.svg(side_mm, side_mm, title, language)


def _runs(row: bytes) -> list[tuple[int, int]]:
    """Where dark modules begin in a row, and how many follow each other."""
    starts = [at for at, dark in enumerate(row) if dark and (at == 0 or not row[at - 1])]
    return [(at, next((end for end in range(at, len(row)) if not row[end]), len(row)) - at) for at in starts]


def _run(left: int, line: int, wide: int, module: float) -> list[tuple[float, float]]:
    x, y = (left + _QUIET) * module, (line + _QUIET) * module
    return [(x, y), (x + wide * module, y), (x + wide * module, y + module), (x, y + module)]
