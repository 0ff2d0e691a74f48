"""Writes SVG: shapes in millimetres of paper, numbers to a hundredth, text escaped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from xml.sax.saxutils import escape, quoteattr

from workers.documents.drawing.geometry import Point

FONT = "'Source Sans 3', sans-serif"


def number(value: float) -> str:
    """A coordinate to a hundredth of a millimetre, the same on every machine."""
    written = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


class Pen:
    """Collects the elements of one SVG."""

    def __init__(self) -> None:
        self._parts: list[str] = []

    @contextmanager
    def group(self, **attributes: str | float) -> Iterator[None]:
        """Everything drawn inside shares these attributes."""
        self._parts.append(f"<g{_written(attributes)}>")
        yield
        self._parts.append("</g>")

    def shape(self, rings: Sequence[Sequence[Point]], **attributes: str | float) -> None:
        """Closed outlines filled even-odd."""
        path = "".join("M" + "L".join(_pair(point) for point in ring) + "Z" for ring in rings if ring)
        if path:
            self._parts.append(f'<path d="{path}" fill-rule="evenodd"{_written(attributes)}/>')

    def lines(self, lines: Sequence[Sequence[Point]], **attributes: str | float) -> None:
        """Open lines, as one path."""
        path = "".join("M" + "L".join(_pair(point) for point in line) for line in lines if line)
        if path:
            self._parts.append(f'<path d="{path}" fill="none"{_written(attributes)}/>')

    def circle(self, middle: Point, radius: float, **attributes: str | float) -> None:
        """A circle."""
        x, y = middle
        self._parts.append(
            f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"{_written(attributes)}/>'
        )

    def text(
        self, at: Point, words: str, size: float, *, anchor: str = "middle", turned: float = 0.0, bold: bool = False,
        **attributes: str | float,
    ) -> None:  # fmt: skip
        """A line of text whose middle height lies at `at`; `turned` in degrees, clockwise on paper."""
        x, y = at
        where = f'x="{number(x)}" y="{number(y + 0.35 * size)}"'
        if turned:
            where = (
                f'x="0" y="{number(0.35 * size)}"'
                f' transform="translate({number(x)} {number(y)}) rotate({number(turned)})"'
            )
        weight = ' font-weight="600"' if bold else ""
        self._parts.append(
            f'<text {where} font-size="{number(size)}" text-anchor="{anchor}"{weight}{_written(attributes)}>'
            f"{escape(words)}</text>"
        )

    def svg(self, width: float, height: float, title: str, language: str) -> bytes:
        """The finished drawing; its width and height are true millimetres."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" height="{number(height)}mm"'
            f' viewBox="0 0 {number(width)} {number(height)}" lang={quoteattr(language)} role="img"'
            f" font-family={quoteattr(FONT)}><title>{escape(title)}</title>"
        )
        return (head + "".join(self._parts) + "</svg>\n").encode()


def _pair(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def _written(attributes: dict[str, str | float]) -> str:
    return "".join(
        f" {name.replace('_', '-')}={quoteattr(number(value) if isinstance(value, float | int) else value)}"
        for name, value in attributes.items()
    )


def text_width(words: str, size: float) -> float:
    """About how wide a line of text comes out, in millimetres: digits of the font are 0.497 of its size."""
    return size * sum(
        0.26 if mark in " .,:;·|ijl'" else 0.72 if mark in "mwMW—" else 0.55 if mark.isupper() else 0.5
        for mark in words
    )
