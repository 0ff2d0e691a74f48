"""Drawings of our own pen written into a PDF as they are, in place of WeasyPrint's reading of SVG.

WeasyPrint lays the text of an SVG out letter by letter and keeps a state for every element; of a site pack that was
half the time. What the pen writes is little: paths of straight lines, circles, text on one line, groups. Here that
much becomes operators of PDF (ISO 32000-1, 8.5 and 9.4), with letters by their width in the font, as they come out
of SVG as well. A drawing that holds anything else is left to WeasyPrint, which shows it or refuses it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from math import cos, radians, sin
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, ParseError, fromstring

from fontTools.ttLib import TTFont
from weasyprint.css.properties import INITIAL_VALUES
from weasyprint.text.fonts import FontConfiguration
from weasyprint.text.line_break import create_layout

from workers.documents.drawing.pen import FONT

_SVG = "{http://www.w3.org/2000/svg}"
_PX_OF_MM = 96 / 25.4
_NUMBER = r"-?\d+(?:\.\d+)?"
_PATH = re.compile(rf"(?:[ML]{_NUMBER} {_NUMBER}|Z)*")
_POINT = re.compile(r"([ML])([^MLZ]+)")
_MM = re.compile(rf"({_NUMBER})mm")
_COLOUR = re.compile(r"#[0-9a-f]{6}")
_TURNED = re.compile(rf"translate\(({_NUMBER}) ({_NUMBER})\) rotate\(({_NUMBER})\)")
_ROUND = 0.5522847498  # how far the handles of a quarter circle stand out, of its radius
_STYLE = {"fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin", "fill-opacity"}
_KNOWN = {
    "g": _STYLE,
    "path": _STYLE | {"d", "fill-rule"},
    "circle": _STYLE | {"cx", "cy", "r"},
    "text": {"x", "y", "fill", "font-size", "font-weight", "text-anchor", "transform"},
    "svg": {"width", "height", "viewBox", "lang", "role", "font-family"},
}
_JOINS = {"miter": b"0 j", "round": b"1 j", "bevel": b"2 j"}
_SHIFT = {"start": 0.0, "middle": 0.5, "end": 1.0}


class _Unknown(ValueError):  # noqa: N818 - it is no error: WeasyPrint takes the drawing
    """The drawing holds something that the pen does not write."""


@dataclass(frozen=True, slots=True)
class _Face:
    """What is known of a font without laying anything out."""

    glyphs: Mapping[int, int]
    widths: Mapping[int, int]  # of a glyph, in thousandths of the size

    @classmethod
    def of(cls, content: bytes) -> _Face:
        font = TTFont(BytesIO(content), lazy=True)
        names, units = font.getBestCmap(), font["head"].unitsPerEm
        glyphs = {code: font.getGlyphID(name) for code, name in names.items()}
        widths = {glyphs[code]: round(font["hmtx"][name][0] * 1000 / units) for code, name in names.items()}
        return cls(glyphs, widths)


@cache
def _faces() -> dict[int, _Face]:
    folder = Path(__file__).parent / "fonts"
    files = {400: "SourceSans3-Regular.ttf", 600: "SourceSans3-Semibold.ttf"}
    return {weight: _Face.of((folder / name).read_bytes()) for weight, name in files.items()}


@dataclass(frozen=True, slots=True)
class _Words:
    """A line of text: what is written before and after the name of its font."""

    weight: int
    before: bytes
    after: bytes


@dataclass(frozen=True, slots=True)
class _Opacity:
    """From here on, filled shapes are this solid."""

    share: float


class _Style(dict[str, Any]):
    """WeasyPrint takes styles as dictionaries that also know the fonts."""

    font_config: FontConfiguration


class Inks:
    """The drawings of one document, by the names its page calls them; shares the document's fonts among them."""

    def __init__(self, fonts: FontConfiguration) -> None:
        self._fonts = fonts
        self._sampled: dict[int, Any] = {}

    def of(self, assets: Mapping[str, bytes]) -> dict[str, InkImage]:
        """Those of the assets that the pen drew, as WeasyPrint's cache of images wants them."""
        drawn: dict[str, InkImage] = {}
        for name, content in assets.items():
            if name.endswith(".svg"):
                try:
                    drawn[f"asset:{name}"] = InkImage(content, self)
                except (_Unknown, ParseError):
                    continue
        return drawn

    def font(self, weight: int, stream: Any) -> Any:
        """The document's font of a weight."""
        if weight not in self._sampled:  # kept, since WeasyPrint's font points into it
            style = _Style(INITIAL_VALUES)
            style.font_config = self._fonts
            style.update(
                font_family=[name.strip("' ") for name in FONT.split(",")], font_weight=weight, font_size=10
            )
            self._sampled[weight] = create_layout("0", style, None, None, 0)
        line, _ = self._sampled[weight].get_first_line()
        return stream.add_font(line.runs[0].data.item.analysis.font)[0]


class InkImage:
    """One drawing, with what WeasyPrint asks of an image. Raises `_Unknown` and `ParseError` while it is read."""

    def __init__(self, content: bytes, inks: Inks) -> None:
        root = fromstring(content)  # noqa: S314 - drawn by this program; entities are not fetched, and none are known
        if root.tag != f"{_SVG}svg":
            raise _Unknown(root.tag)
        self._inks = inks
        self._wide, self._high = (_millimetres(root, name) for name in ("width", "height"))
        if root.get("viewBox") != f"0 0 {self._wide:g} {self._high:g}" or root.get("font-family") != FONT:
            raise _Unknown("frame")
        self._steps: list[bytes | _Words | _Opacity] = []
        self._letters: dict[int, dict[int, str]] = {}  # by weight and glyph, those that are used
        self._read(root, {})

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width, height and their ratio, in pixels of CSS."""
        return self._wide * _PX_OF_MM, self._high * _PX_OF_MM, self._wide / self._high

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Writes the drawing where the stream stands, as wide and high as is said."""
        stream.transform(a=width / self._wide, d=height / self._high)
        fonts = {weight: self._font(weight, stream) for weight in self._letters}
        for step in self._steps:
            if isinstance(step, bytes):
                stream.stream.append(step)
            elif isinstance(step, _Opacity):
                stream.set_alpha(step.share)
            else:
                stream.stream.append(step.before + fonts[step.weight] + step.after)

    def _font(self, weight: int, stream: Any) -> bytes:
        """The name of a font in the document, which is told of the letters that stand here."""
        font, widths = self._inks.font(weight, stream), _faces()[weight].widths
        for glyph, letter in self._letters[weight].items():
            font.to_unicode.setdefault(glyph, letter)
            font.widths.setdefault(glyph, widths[glyph])
        return str(font.hash).encode()

    def _read(self, node: Element, inherited: Mapping[str, str]) -> None:
        for child in node:
            tag = child.tag.removeprefix(_SVG)
            if tag == "title":
                continue
            if tag not in _KNOWN or not _KNOWN[tag].issuperset(child.attrib):
                raise _Unknown(tag)
            style = {**inherited, **child.attrib}
            if tag == "g":
                self._read(child, {name: style[name] for name in _STYLE & style.keys()})
            elif tag == "text":
                self._steps.append(self._words(child, style))
            else:
                self._shape(tag, style)

    def _words(self, node: Element, style: Mapping[str, str]) -> _Words:
        weight, size = int(style.get("font-weight", "400")), float(style["font-size"])
        text, face = node.text or "", _faces().get(weight)
        if len(node) or face is None or any(ord(letter) not in face.glyphs for letter in text):
            raise _Unknown("text")
        glyphs = [face.glyphs[ord(letter)] for letter in text]
        used = self._letters.setdefault(weight, {})
        for glyph, letter in zip(glyphs, text, strict=True):
            used.setdefault(glyph, letter)
        width = sum(face.widths[glyph] for glyph in glyphs) * size / 1000
        x, y = float(style["x"]) - width * _SHIFT[style.get("text-anchor", "start")], float(style["y"])
        matrix = (1.0, 0.0, 0.0, -1.0, x, y)
        if "transform" in style:
            turned = _TURNED.fullmatch(style["transform"])
            if turned is None:
                raise _Unknown("transform")
            a, b = cos(radians(float(turned[3]))), sin(radians(float(turned[3])))
            at = (float(turned[1]) + a * x - b * y, float(turned[2]) + b * x + a * y)
            matrix = (a, b, b, -a, *at)
        place, shown = " ".join(map(_said, matrix)), "".join(f"{glyph:04x}" for glyph in glyphs)
        before = b"BT " + _colour(style.get("fill", "#000000"), b"rg") + b" /"
        return _Words(weight, before, f" {_said(size)} Tf {place} Tm <{shown}> Tj ET".encode())

    def _shape(self, tag: str, style: Mapping[str, str]) -> None:
        fill, stroke = style.get("fill", "#000000"), style.get("stroke", "none")
        solid = float(style.get("fill-opacity", "1"))
        state = [b"q"]
        if fill != "none":
            state.append(_colour(fill, b"rg"))
        if stroke != "none":
            state.append(_colour(stroke, b"RG"))
            state.append(f"{_said(float(style.get('stroke-width', '1')))} w".encode())
            dashes = style.get("stroke-dasharray", "")
            if not re.fullmatch(r"[\d. ]*", dashes):
                raise _Unknown("dashes")
            if dashes:
                state.append(f"[{dashes}] 0 d".encode())
            if "stroke-linejoin" in style:
                state.append(_JOINS[style["stroke-linejoin"]])
        even = b"*" if style.get("fill-rule") == "evenodd" else b""
        paint = {(True, True): b"B" + even, (True, False): b"f" + even, (False, True): b"S"}.get(
            (fill != "none", stroke != "none")
        )
        if paint is None:
            return
        path = _circle(style) if tag == "circle" else _path(style["d"])
        whole = b"\n".join((*state, path, paint, b"Q"))
        self._steps += [whole] if solid == 1 else [_Opacity(solid), whole, _Opacity(1)]


def _millimetres(root: Element, name: str) -> float:
    said = _MM.fullmatch(root.get(name, ""))
    if said is None or float(said[1]) <= 0:
        raise _Unknown(name)
    return float(said[1])


def _path(said: str) -> bytes:
    if not _PATH.fullmatch(said):
        raise _Unknown("path")
    lines = _POINT.sub(lambda found: f"{found[2]} {'m' if found[1] == 'M' else 'l'}\n", said)
    return lines.replace("Z", "h\n").rstrip().encode()


def _circle(style: Mapping[str, str]) -> bytes:
    x, y, r = (float(style[name]) for name in ("cx", "cy", "r"))
    h = r * _ROUND
    quarters = (
        (x + r, y + h, x + h, y + r, x, y + r), (x - h, y + r, x - r, y + h, x - r, y),
        (x - r, y - h, x - h, y - r, x, y - r), (x + h, y - r, x + r, y - h, x + r, y),
    )  # fmt: skip
    curves = "\n".join(" ".join(_said(value) for value in quarter) + " c" for quarter in quarters)
    return f"{_said(x + r)} {_said(y)} m\n{curves}\nh".encode()


@cache
def _colour(said: str, operator: bytes) -> bytes:
    if not _COLOUR.fullmatch(said):
        raise _Unknown("colour")
    parts = (_said(int(said[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return " ".join(parts).encode() + b" " + operator


def _said(value: float) -> str:
    written = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written
