"""Reads where the words of a PDF stand on its pages, how large they are and how bold."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from fontTools.ttLib import TTFont
from pypdf import PageObject, PdfReader

MM = 72 / 25.4
_FONTS = Path(__file__).parents[2] / "workers" / "documents" / "fonts"


@dataclass(frozen=True, slots=True)
class Word:
    """A run of text: its box in millimetres from the page's upper left corner, its size in points."""

    text: str
    left: float
    top: float
    right: float
    bottom: float
    size: float
    bold: bool
    level: bool

    def overlaps(self, other: Word) -> bool:
        """Whether letters lie on letters; boxes that only touch do not."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > 0.6  # kerning is not reckoned with
            and min(self.bottom, other.bottom) - max(self.top, other.top) > 0.25
        )


def pages(pdf: bytes) -> list[tuple[float, float, list[Word]]]:
    """Width and height in millimetres of each page, and its words."""
    return [
        (float(page.mediabox.width) / MM, float(page.mediabox.height) / MM, _words(page))
        for page in PdfReader(io.BytesIO(pdf)).pages
    ]


def _words(page: PageObject) -> list[Word]:
    found: list[Word] = []
    high = float(page.mediabox.height)

    def take(
        text: str, outer: list[float], inner: list[float], font: dict[str, Any] | None, size: float
    ) -> None:
        words = text.strip()
        if not words or font is None:
            return
        bold = "Semi" in str(font["/BaseFont"])
        a, b, c, d, x, y = _times(inner, outer)
        scale = math.hypot(c, d)
        wide = _width(words, bold=bold) * size * math.hypot(a, b)
        along, up = (a / math.hypot(a, b), b / math.hypot(a, b)), (c / scale, d / scale)
        tall = 0.48 * size * scale  # small letters without what hangs or rises
        corners = [
            (x + s * wide * along[0] + t * tall * up[0], y + s * wide * along[1] + t * tall * up[1])
            for s in (0, 1)
            for t in (0, 1)
        ]
        us, vs = [u / MM for u, _ in corners], [(high - v) / MM for _, v in corners]
        level = abs(along[1]) < 0.01
        found.append(Word(words, min(us), min(vs), max(us), max(vs), size * scale, bold, level))

    page.extract_text(visitor_text=take)
    return found


def _times(inner: list[float], outer: list[float]) -> tuple[float, ...]:
    a, b, c, d, e, f = inner
    m, n, o, p, q, r = outer
    return (a * m + b * o, a * n + b * p, c * m + d * o, c * n + d * p, e * m + f * o + q, e * n + f * p + r)


@cache
def _advances(*, bold: bool) -> dict[int, float]:
    font = TTFont(_FONTS / f"SourceSans3-{'Semibold' if bold else 'Regular'}.ttf")
    units, metrics = font["head"].unitsPerEm, font["hmtx"]
    return {code: metrics[name][0] / units for code, name in font.getBestCmap().items()}


def _width(words: str, *, bold: bool) -> float:
    """How wide words come out in ems, from the font's own widths."""
    advances = _advances(bold=bold)
    return sum(advances.get(ord(letter), 0.5) for letter in words)
