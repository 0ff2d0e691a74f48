"""A surface keeps to one page where a drawing one scale smaller leaves its tables the room they want."""

from __future__ import annotations

import io
import re
from dataclasses import replace

from pypdf import PdfReader

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.pressure_test import LeakNote
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface
from tests.documents import example_plan as example
from tests.documents.hard_job import box
from workers.documents import draw_surface, render_site_pack
from workers.engine.envelope import prepare
from workers.engine.plan import plan_job

_LOBBY = Surface(
    "lobby", "wall", box(2400, 2450), Members("up", 400),
    edges=tuple(EdgeFinish(edge, "timber") for edge in range(4)),
    openings=(Opening("d1", "door", box(1000, 2150, 700)),),
    penetrations=tuple(
        Penetration(f"c{number}", "cable", (400, 400 + 300 * number), diameter_mm=9, note="bell and light")
        for number in range(1, 4)
    ),
)  # fmt: skip
JOB = prepare(Job("LOBBY", (_LOBBY,)))
_BOOK = default_price_book()
PLAN = plan_job(
    JOB,
    default_standard(),
    default_outputs(),
    replace(_BOOK, products=tuple(one for one in _BOOK.products if one.code != "membrane-1500")),
)
LAYOUT = PLAN.layout.surfaces[0]


def _pages(**drawings: bytes) -> list[str]:
    pack = render_site_pack(
        JOB, PLAN, default_standard(), example.PROFILE, made_at=example.MADE_AT, drawings=drawings
    )
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(pack)).pages]


def test_a_few_rows_do_not_open_a_page_of_their_own() -> None:
    (page,) = [text for text in _pages() if "strips hung" in text]
    assert "Seal these" in page
    assert "Scale 1:50" in page
    assert b"1:20" in draw_surface(_LOBBY, LAYOUT, (), default_standard(), 100)  # as it would be by itself


def test_leaks_noted_on_a_drawing_stay_on_it() -> None:
    leak = LeakNote("lobby", "air beside the cable", "c1")
    drawn = draw_surface(_LOBBY, LAYOUT, PLAN.take_off.penetrations, default_standard(), 100, leaks=(leak,))
    at = [number for number, text in enumerate(_pages(lobby=drawn)) if "strips hung" in text]
    assert len(at) == 1
    assert "Scale 1:20" in _pages(lobby=drawn)[at[0]]
