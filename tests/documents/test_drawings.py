"""Drawings of surfaces: true to their scale, complete, and legible."""

import re
from dataclasses import replace
from decimal import Decimal
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.layout import EdgeAllowance, Piece, Strip, SurfaceLayout
from api_schema.standard import Standard
from api_schema.surface import Members, Surface
from tests.documents import example_plan as example
from workers.documents.drawing import draw_surface
from workers.documents.drawing.geometry import RunFrame, spans_inside
from workers.documents.drawing.pen import text_width

SVG = "{http://www.w3.org/2000/svg}"
ISO_5455 = {
    20,
    50,
    100,
    200,
    500,
    1000,
    2000,
    5000,
    10_000,
    20_000,
}  # reductions of ISO 5455 and tens of them
EXAMPLES = [
    pytest.param(*pair, id=pair[0].id) for pair in zip(example.SURFACES, example.LAYOUTS, strict=True)
]


def drawn(surface: Surface, layout: SurfaceLayout, centres: int = 100) -> ElementTree.Element:
    svg = draw_surface(surface, layout, example.SEALINGS, Standard(), centres)
    return ElementTree.fromstring(svg)  # noqa: S314 - our own drawing


def words(svg: ElementTree.Element) -> list[str]:
    return [text.text or "" for text in svg.iter(f"{SVG}text")]


def stated_scale(svg: ElementTree.Element) -> int:
    return next(int(found[1]) for text in words(svg) if (found := re.fullmatch(r"Scale 1:(\d+)", text)))


def corners_of(path: ElementTree.Element) -> list[tuple[float, float]]:
    return [
        (float(x), float(y))
        for x, y in (pair.split() for pair in re.split("[MLZ]", path.get("d", "")) if pair)
    ]


def outline_on_paper(svg: ElementTree.Element) -> list[tuple[float, float]]:
    """The one thick line of a drawing is the outline (ISO 128: visible edges are drawn wide)."""
    thick = [
        path
        for path in svg.iter(f"{SVG}path")
        if path.get("stroke-width") == "0.5" and path.get("fill") == "none"
    ]
    return corners_of(next(path for path in thick if path.get("fill-rule")))


def plain(outline: tuple[tuple[int, int], ...]) -> tuple[Surface, SurfaceLayout]:
    """A surface with strips a metre and a half wide laid over its box."""
    left, right = min(u for u, _ in outline), max(u for u, _ in outline)
    low, high = min(v for _, v in outline), max(v for _, v in outline)
    surface = Surface("plain", "wall", outline, Members("up", 600))
    strips = tuple(
        Strip(
            f"plain/{number}",
            "membrane",
            at,
            min(at + 1500, high),
            (Piece(f"plain/{number}a", left, right, right - left, 1500),),
        )
        for number, at in enumerate(range(low, high, 1400), start=1)
    )
    edges = tuple(EdgeAllowance(edge, "stops", 20) for edge in range(len(outline)))
    cost = Decimal(1)
    return surface, SurfaceLayout("plain", "across_members", "across", cost, cost, True, strips, (), edges)


@pytest.mark.parametrize(("surface", "layout"), EXAMPLES)
def test_the_outline_measured_on_paper_times_the_stated_scale_is_the_surface(
    surface: Surface, layout: SurfaceLayout
) -> None:
    svg = drawn(surface, layout)
    scale = stated_scale(svg)
    assert scale in ISO_5455
    paper = outline_on_paper(svg)
    for (x, y), (u, v) in zip(paper, surface.outline_mm, strict=True):
        assert (x - paper[0][0]) * scale == pytest.approx(u - surface.outline_mm[0][0], abs=0.011 * scale)
        assert (paper[0][1] - y) * scale == pytest.approx(v - surface.outline_mm[0][1], abs=0.011 * scale)


@given(st.integers(100, 60_000), st.integers(100, 20_000))
def test_any_size_fits_the_page_at_a_scale_of_iso_5455(width: int, height: int) -> None:
    svg = drawn(*plain(((0, 0), (width, 0), (width, height), (0, height))))
    scale = stated_scale(svg)
    paper = outline_on_paper(svg)
    assert scale in ISO_5455
    assert abs((paper[1][0] - paper[0][0]) * scale - width) <= 0.011 * scale
    assert abs((paper[0][1] - paper[2][1]) * scale - height) <= 0.011 * scale
    wide, high = (float(svg.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    assert all(0 < x < wide for x, _ in paper)
    assert (wide, high < 200 if wide == 190 else high < 145) in ((190, True), (277, True))


def test_one_unit_of_the_drawing_is_one_millimetre() -> None:
    svg = drawn(example.WALL, example.WALL_LAYOUT)
    assert svg.get("viewBox") == f"0 0 {svg.get('width')} {svg.get('height')}".replace("mm", "")


@pytest.mark.parametrize(("surface", "layout"), EXAMPLES)
def test_every_strip_piece_lap_opening_and_penetration_is_named(
    surface: Surface, layout: SurfaceLayout
) -> None:
    texts = words(drawn(surface, layout))
    for strip in layout.strips:
        assert strip.id.rpartition("/")[2] in texts
        for piece in strip.pieces:
            name = piece.id.rpartition("/")[2]
            assert any(re.match(rf"{name}\b", text) for text in texts), name
    for lap in layout.laps:
        assert str(lap.overlap_mm) in texts
    for opening in surface.openings:
        assert any(text.startswith(opening.id) for text in texts)
    for penetration in surface.penetrations:
        assert any(re.match(rf"{penetration.id}\b", text) for text in texts)


def test_lengths_are_counted_in_hundred_millimetre_marks() -> None:
    texts = words(drawn(example.WALL, example.WALL_LAYOUT))
    assert "1a: 63 marks" in texts
    assert "6300 · rip to 1380" in texts


def test_a_length_between_two_marks_says_what_is_over() -> None:
    strip = example.WALL_LAYOUT.strips[0]
    odd = replace(strip, pieces=(replace(strip.pieces[0], cut_length_mm=6290),))
    layout = replace(example.WALL_LAYOUT, strips=(odd, example.WALL_LAYOUT.strips[1]))
    assert "1a: 62 marks + 90" in words(drawn(example.WALL, layout))


def test_the_key_explains_what_is_drawn_and_nothing_else() -> None:
    wall = words(drawn(example.WALL, example.WALL_LAYOUT))
    slope = words(drawn(example.SLOPE, example.SLOPE_LAYOUT))
    assert "captive: tape" in wall
    assert "hot: no membrane or tape" not in wall
    assert "hot: no membrane or tape" in slope
    assert "collar" not in slope


def test_returning_edges_say_how_far_they_return() -> None:
    texts = words(drawn(example.WALL, example.WALL_LAYOUT))
    assert {"return 70", "trim 20", "slab 80", "timber 50"} <= set(texts)


def test_fixing_centres_and_members_are_written_under_the_drawing() -> None:
    texts = words(drawn(example.SLOPE, example.SLOPE_LAYOUT, centres=50))
    assert "members every 600, staples every 50, laps at least 100" in texts


@pytest.mark.parametrize(("surface", "layout"), EXAMPLES)
def test_no_two_labels_lie_on_each_other(surface: Surface, layout: SurfaceLayout) -> None:
    labels = []
    for text in drawn(surface, layout).iter(f"{SVG}text"):
        size = float(text.get("font-size", "0"))
        wide, high = 0.94 * text_width(text.text or "", size), 0.6 * size
        turned = re.match(r"translate\((\S+) (\S+)\) rotate\((\S+)\)", text.get("transform", ""))
        if turned:
            x, y, angle = map(float, turned.groups())
            if angle not in (-90.0, 0.0):
                continue
            wide, high = high, wide
        else:
            x, y = float(text.get("x", "0")), float(text.get("y", "0")) - 0.35 * size
        shift = {"middle": 0.0, "start": wide / 2, "end": -wide / 2}[text.get("text-anchor", "start")]
        labels.append((text.text, x + shift - wide / 2, y - high / 2, x + shift + wide / 2, y + high / 2))
    for one, other in combinations(labels, 2):
        apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
        assert apart, (one, other)


@pytest.mark.parametrize("direction", ["across", "up", "30", "145.3", "0.5"])
def test_a_point_in_the_run_frame_comes_back_where_it_was(direction: str) -> None:
    frame = RunFrame.of(direction)
    assert frame.to_surface(frame.to_run((1234.0, -567.0))) == pytest.approx((1234.0, -567.0))


def test_members_are_drawn_only_where_there_is_layer_to_staple() -> None:
    wall = [[(float(u), float(v)) for u, v in example.WALL.outline_mm]]
    door = [(float(v), float(u)) for u, v in example.WALL.openings[0].outline_mm]
    rings = [[(v, u) for u, v in wall[0]], door]
    assert spans_inside(rings, 1200) == [(2100, 2450)]
    assert spans_inside(rings, 2000) == [(0, 2450)]


def test_a_surface_that_is_all_opening_is_drawn_without_strips() -> None:
    surface, layout = plain(((0, 0), (900, 0), (900, 2000), (0, 2000)))
    texts = words(drawn(surface, replace(layout, strips=(), laps=())))
    assert "900" in texts
    assert "start" not in texts


def test_an_outline_of_many_corners_is_drawn() -> None:
    steps = [(index * 20, 2000 + 10 * (index % 2)) for index in range(500, 0, -1)]
    surface, layout = plain(((0, 0), (10_000, 0), *steps))
    assert len(outline_on_paper(drawn(surface, layout))) == 502


def test_the_same_surface_gives_the_same_bytes() -> None:
    one, other = (
        draw_surface(example.WALL, example.WALL_LAYOUT, example.SEALINGS, Standard(), 100) for _ in range(2)
    )
    assert one == other
