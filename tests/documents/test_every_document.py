"""What is so of every PDF: the firm's logo and colours, a title, a language, tags, words for every picture."""

import io
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from api_schema.defaults import default_outputs, default_price_book
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.standard import Standard
from tests.documents import example_plan as example
from tests.documents.test_pressure_report import RESULT, TEST
from workers import documents
from workers.documents import Letterhead
from workers.engine.captives import captive_costs
from workers.engine.pressure.walk_round import walk_round
from workers.surveys import survey_of

PROFILE = replace(example.PROFILE, accent_colour="#7a2e4d")
RED = b"0.478431"  # of the accent colour, as a share of one
KINDS = ("quote", "order", "site_pack", "trade_pack", "walk_round", "survey_report", "test_report", "drawing", "labels")  # fmt: skip


@cache
def logo() -> Letterhead:
    out = io.BytesIO()
    Image.new("RGB", (60, 20), (31, 92, 87)).save(out, "PNG")
    return Letterhead(out.getvalue())


def every_document(planned_house: tuple[Job, Plan]) -> dict[str, bytes]:
    """One of each kind, by its kind."""
    job, plan = planned_house
    book, at = default_price_book(), example.MADE_AT
    kept: dict[str, Any] = {"made_at": at, "letterhead": logo()}
    captives = captive_costs(job, plan.take_off, default_outputs(), book)
    walk, survey = walk_round(job, plan.take_off, plan.layout), survey_of(job, job)
    wall = documents.draw_surface(example.WALL, example.WALL_LAYOUT, example.SEALINGS, Standard(), 100)
    house = (example.JOB, example.PLAN)
    return {
        "quote": documents.render_quote(example.QUOTE, PROFILE, **kept),
        "order": documents.render_order(example.ORDER, PROFILE, **kept),
        "site_pack": documents.render_site_pack(*house, Standard(), PROFILE, job_page="https://office.example.com/j", **kept),
        "trade_pack": documents.render_trade_pack(job, plan, captives, book, PROFILE, **kept),
        "walk_round": documents.render_walk_round(walk, PROFILE, **kept),
        "survey_report": documents.render_survey_report(survey, job.reference, job.title, PROFILE, **kept),
        "test_report": documents.render_test_report(TEST, RESULT, PROFILE, **kept),
        "drawing": documents.render_drawing(wall, "living-north", *house, PROFILE, revision=1, **kept),
        "labels": documents.render_cut_labels(*house, PROFILE, made_at=at),
    }  # fmt: skip


@pytest.fixture(scope="module")
def made(planned_house: tuple[Job, Plan]) -> dict[str, bytes]:
    return every_document(planned_house)


def _figures(node: Any) -> Iterator[Any]:
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            yield from _figures(child)
    elif isinstance(node, dict):
        if node.get("/S") == "/Figure":
            yield node
        yield from _figures(node.get("/K", []))


@pytest.mark.parametrize("kind", KINDS)
def test_a_document_is_tagged_and_says_its_title_language_and_pictures(
    kind: str, made: dict[str, bytes]
) -> None:
    reader = PdfReader(io.BytesIO(made[kind]))
    catalogue = reader.trailer["/Root"]
    assert catalogue["/Lang"] == "en"
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title
    assert reader.metadata.author == PROFILE.name
    pictures = list(_figures(catalogue["/StructTreeRoot"]["/K"]))
    assert all(picture.get("/Alt") for picture in pictures)
    assert pictures or kind == "labels"


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "labels"])
def test_a_document_carries_the_firm_s_logo_and_colour(kind: str, made: dict[str, bytes]) -> None:
    reader = PdfReader(io.BytesIO(made[kind]))
    first = reader.pages[0]
    assert len(first.images) == 1
    content = first.get_contents()
    assert content is not None
    assert RED in content.get_data()
