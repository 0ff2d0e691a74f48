"""A drawing's own sheet: its pieces listed under it where they find room, all of it on one page."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from api_schema.layout import SurfaceLayout
from api_schema.standard import Standard
from api_schema.surface import Surface
from tests.documents import example_plan as example
from workers.documents import draw_surface, render_drawing


def sheet(surface: Surface, layout: SurfaceLayout) -> tuple[list[str], float, float]:
    """The words of each page, and the first one's width and height."""
    layouts = tuple(layout if one.id == layout.id else one for one in example.LAYOUTS)
    surfaces = tuple(surface if one.id == surface.id else one for one in example.SURFACES)
    plan = replace(example.PLAN, layout=replace(example.PLAN.layout, surfaces=layouts))
    drawn = draw_surface(surface, layout, example.SEALINGS, Standard(), 100)
    job = replace(example.JOB, surfaces=surfaces)
    pdf = render_drawing(drawn, surface.id, job, plan, example.PROFILE, revision=1, made_at=example.MADE_AT)
    pages = PdfReader(io.BytesIO(pdf)).pages
    box = pages[0].mediabox
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pages], float(box.width), float(box.height)


@pytest.mark.parametrize(
    ("surface", "layout"), list(zip(example.SURFACES, example.LAYOUTS, strict=True)), ids=lambda one: one.id
)
def test_a_sheet_lists_its_pieces_in_laying_order_on_one_upright_page(
    surface: Surface, layout: SurfaceLayout
) -> None:
    (page,), wide, high = sheet(surface, layout)
    assert wide < high
    at = page.index("Count off")
    for strip in layout.strips:
        for piece in strip.pieces:
            name = piece.id.rpartition("/")[2]
            row = f"{name} {piece.cut_length_mm // 100} marks {piece.cut_length_mm} × {piece.cut_width_mm}"
            at = page.index(row, at)


def test_a_list_that_finds_no_room_is_left_out() -> None:
    layout = replace(example.GABLE_LAYOUT, strips=example.GABLE_LAYOUT.strips * 12)
    pages, *_ = sheet(example.GABLE, layout)
    assert len(pages) == 1
    assert "Count off" not in pages[0]


def test_the_sheet_of_a_long_surface_lies_on_its_side() -> None:
    outline = ((0, 0), (9800, 0), (9800, 1000), (0, 1000))
    surface = replace(example.GABLE, outline_mm=outline, openings=(), penetrations=())
    layout = replace(example.GABLE_LAYOUT, edges=example.GABLE_LAYOUT.edges[:4])
    _, wide, high = sheet(surface, layout)
    assert wide > high
