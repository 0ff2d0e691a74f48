"""The trade pack names every pipe, duct, cable and flue, its collar, and what each captive one costs instead."""

from __future__ import annotations

import datetime
import io
import json
import re
from pathlib import Path

import pypdf
import pytest

from api_schema.account import Profile
from api_schema.captive import CaptiveCost
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.shape import load
from workers.documents import render_trade_pack
from workers.engine.captives import captive_costs
from workers.engine.envelope import prepare
from workers.engine.plan import plan_job

HOUSE = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"
MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
BOOK, OUTPUTS = default_price_book(), default_outputs()


@pytest.fixture(scope="module")
def made() -> tuple[Job, tuple[CaptiveCost, ...], bytes]:
    job = prepare(load(Job, json.loads(HOUSE.read_text(encoding="utf-8"))))
    plan = plan_job(job, default_standard(), OUTPUTS, BOOK)
    captives = captive_costs(job, plan.take_off, OUTPUTS, BOOK)
    pdf = render_trade_pack(job, plan, captives, BOOK, Profile(name="Example Airtight Ltd"), made_at=MADE_AT)
    again = render_trade_pack(
        job, plan, captives, BOOK, Profile(name="Example Airtight Ltd"), made_at=MADE_AT
    )
    assert pdf == again
    return job, captives, pdf


def words_of(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    words = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    return words.replace("- ", "-")  # a name may be broken at its hyphen


def test_every_penetration_of_the_trades_is_named_with_its_place_and_size(
    made: tuple[Job, tuple[CaptiveCost, ...], bytes],
) -> None:
    job, _, pdf = made
    words = words_of(pdf)
    for surface in job.surfaces:
        for hole in surface.penetrations:
            if hole.kind in ("timber", "steel"):
                continue
            count = f"{hole.count} × " if hole.count > 1 else ""
            assert f"{hole.id} {count}{hole.kind} {hole.diameter_mm} mm" in words
            assert re.search(rf"\b{surface.id} {hole.at_mm[0]} {hole.at_mm[1]}\b", words), (
                surface.id,
                hole.id,
            )


def test_each_captive_one_says_what_it_costs_beside_its_collar(
    made: tuple[Job, tuple[CaptiveCost, ...], bytes],
) -> None:
    _, captives, pdf = made
    words = words_of(pdf)
    assert captives
    for one in captives:
        assert f"€{one.taped_cost}, against €{one.collar_cost} with its collar" in words
    assert "no membrane, tape or rubber" in words


def test_every_trade_s_pages_begin_with_its_cautions(
    made: tuple[Job, tuple[CaptiveCost, ...], bytes],
) -> None:
    """The pages of one trade are handed over without those of another."""
    _, _, pdf = made
    words = words_of(pdf)
    heads = [
        words.index(head)
        for head in ("Pipes and ducts: plumber", "Cables: electrician", "Flues: a competent")
    ]
    for start, end in zip(heads, [*heads[1:], len(words)], strict=True):
        said = words[start:end]
        for caution in ("Platforms before ladders", "Hot flues and chimneys", "licensed trades"):
            assert said.index(caution) < said.index("Name")
