"""The crew and the trades read what was agreed: the quote, what was chosen in it, and who brings the collars."""

from __future__ import annotations

import dataclasses
import io
import re

import pypdf
import pytest

from api_schema.agreement import Agreement
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.shape import load
from service.api.examples import JOB
from tests.documents import example_plan as example
from workers.documents import render_site_pack, render_trade_pack
from workers.engine.plan import plan_job

EXAMPLE, STANDARD, OUTPUTS, BOOK = load(Job, JOB), default_standard(), default_outputs(), default_price_book()
AGREED = Agreement(
    "quo_1", "2026-0007", 2, "blown_in", "by_others", ("Blown in later", "Scaffold put up by you")
)
FOLLOWING = dataclasses.replace(EXAMPLE, insulation="blown_in", collars="by_others", agreement=AGREED)


def words_of(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def site_pack(job: Job) -> bytes:
    plan = plan_job(job, STANDARD, OUTPUTS, BOOK)
    return render_site_pack(job, plan, STANDARD, example.PROFILE, made_at=example.MADE_AT, price_book=BOOK)


def trade_pack(job: Job) -> str:
    plan = plan_job(job, STANDARD, OUTPUTS, BOOK)
    return words_of(render_trade_pack(job, plan, (), BOOK, example.PROFILE, made_at=example.MADE_AT))


@pytest.fixture(scope="module")
def following() -> bytes:
    return site_pack(FOLLOWING)


def test_the_cover_names_the_agreement_and_what_was_chosen(following: bytes) -> None:
    said = words_of(following)
    for words in (
        "As agreed with the customer",
        "follows quote 2026-0007, revision 2",
        "blown in behind the membrane later",
        "“Blown in later”",
        "“Scaffold put up by you”",
        "The other trades bring and fit the collars",
        f"a staple every {STANDARD.fixing_centres_blown_in_mm} mm",
    ):
        assert words in said, words
    assert following == site_pack(FOLLOWING)


def test_collars_of_the_other_trades_are_named_where_they_belong(following: bytes) -> None:
    (collar,) = {
        product.name
        for product in BOOK.products
        if product.kind == "collar" and (product.smallest_mm or 0) <= 9 <= (product.largest_mm or 0)
    }
    assert f"{collar}, brought and fitted by the other trade" in words_of(following)


def test_a_job_changed_away_from_the_agreement_no_longer_names_it() -> None:
    said = words_of(site_pack(dataclasses.replace(FOLLOWING, insulation="in_place")))
    assert "2026-0007" not in said
    assert "The other trades bring and fit the collars" in said


def test_the_trades_read_who_brings_their_collars_and_where_that_was_agreed() -> None:
    theirs, ours = trade_pack(FOLLOWING), trade_pack(EXAMPLE)
    assert "You bring these collars and fit them" in theirs
    assert "agreed in quote 2026-0007, revision 2" in theirs
    assert "The membrane crew brings these collars" in ours
    assert "agreed in quote" not in ours
