"""Drawings written straight into the PDF say what WeasyPrint's own reading of the SVG says, in less."""

import io
import re

import pytest
from pypdf import PdfReader

from api_schema.standard import Standard
from tests.documents import example_plan as example
from workers.documents import draw_surface, ink
from workers.documents.renderer import to_pdf

DRAWN = draw_surface(example.WALL, example.WALL_LAYOUT, example.SEALINGS, Standard(), 100)
_SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40"'
    " font-family=\"'Source Sans 3', sans-serif\">{}</svg>"
)
PAGE = '<html lang="en"><title>One drawing</title><img src="asset:one.svg" alt="One drawing" style="width:190mm"></html>'


@pytest.fixture
def by_weasyprint(monkeypatch: pytest.MonkeyPatch) -> bytes:
    with monkeypatch.context() as patch:
        patch.setattr(ink.Inks, "of", lambda *_: {})
        return to_pdf(PAGE, {"one.svg": DRAWN}, example.MADE_AT)


def test_a_drawing_says_the_same_words_as_its_svg_and_is_shorter(by_weasyprint: bytes) -> None:
    ours = to_pdf(PAGE, {"one.svg": DRAWN}, example.MADE_AT)

    def words(pdf: bytes) -> str:
        return re.sub(r"\s+", "", PdfReader(io.BytesIO(pdf)).pages[0].extract_text())

    assert sorted(words(ours)) == sorted(words(by_weasyprint))
    assert "staplesevery100" in words(ours)
    assert len(ours) < len(by_weasyprint)


@pytest.mark.parametrize("weight", [400, 600])
def test_digits_are_of_one_width_without_being_asked_to(weight: int) -> None:
    """So the stylesheet need not ask for it, which costs a little with every word."""
    face = ink._faces()[weight]
    assert len({face.widths[face.glyphs[ord(digit)]] for digit in "0123456789"}) == 1


@pytest.mark.parametrize(("anchor", "left_of"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_text_stands_where_its_anchor_says_turned_or_not(anchor: str, left_of: float) -> None:
    width = 3 * 0.497 * 4  # a digit of the font is 497 thousandths of its size wide
    for place, start in (
        ('x="20" y="10"', (20 - left_of * width, 10)),
        ('x="0" y="1" transform="translate(20 10) rotate(-90)"', (21, 10 + left_of * width)),
    ):
        svg = _SVG.format(f'<text {place} font-size="4" text-anchor="{anchor}">123</text>')
        pdf = to_pdf(PAGE.replace("190mm", "40mm"), {"one.svg": svg.encode()}, example.MADE_AT)
        drawn = PdfReader(io.BytesIO(pdf)).pages[0].get_contents()
        assert drawn is not None
        (matrix,) = re.findall(rb"([-\d.]+) ([-\d.]+) Tm <", drawn.get_data())
        assert [float(value) for value in matrix] == pytest.approx(start, abs=0.01)


@pytest.mark.parametrize(
    "inside",
    [
        '<image href="file:///etc/passwd" width="9" height="9"/>',
        '<path d="M0 0C1 1 2 2 3 3"/>',
        '<path d="M0 0L1 1" style="fill:red"/>',
        '<path d="M0 0L1 1" fill="url(#x)"/>',
        '<path d="M0 0L1 1" stroke="#000000" stroke-dasharray="1 0] 0 d"/>',
        '<text x="0" y="0" font-size="3">\u4e2d</text>',
        '<text x="0" y="0" font-size="3" transform="scale(2)">a</text>',
        '<text x="0" y="0" font-size="3"><tspan>a</tspan></text>',
    ],
)
def test_what_the_pen_does_not_write_is_left_to_weasyprint(inside: str) -> None:
    svg = _SVG.format(inside)
    fonts = ink.FontConfiguration()
    assert ink.Inks(fonts).of({"one.svg": svg.encode()}) == {}
    plain = svg.replace(inside, '<path d="M0 0L1 1Z" fill="#000000"/>')
    assert list(ink.Inks(fonts).of({"one.svg": plain.encode()})) == ["asset:one.svg"]
