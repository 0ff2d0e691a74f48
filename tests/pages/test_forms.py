"""What a form makes of a job, and a job of a form; no browser needed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.defaults import default_price_book
from api_schema.job import Job
from api_schema.price_book import PriceBook
from api_schema.problem import Fault
from api_schema.shape import dump, load
from api_schema.surface import OPENING_KINDS, PENETRATION_KINDS
from service.pages.forms import Form, flat_of, hundredths, tree, without_sign
from service.pages.job_form import form_of, job_of
from service.pages.job_rows import act, new_form
from service.pages.price_form import book_of, form_of_book

_DEMO = Path(__file__).parents[2] / "deploy" / "demo"


def _sent(form: dict[str, Any]) -> dict[str, Any]:
    """The form after it went to the browser and back."""
    return tree(flat_of(form))


def _stored(body: dict[str, Any]) -> dict[str, Any]:
    """The job's JSON, finishes in the order of their edges: that order says nothing."""
    made = dump(load(Job, body))
    for surface in made["surfaces"]:
        surface["edges"].sort(key=lambda finish: finish["edge"])
    return made


@pytest.mark.parametrize("name", ["house.json", "building.json"])
def test_a_job_comes_back_from_its_form_as_it_was(name: str) -> None:
    body = _stored(json.loads((_DEMO / name).read_text(encoding="utf-8")))
    data, unread = job_of(_sent(form_of(body)))
    assert unread == []
    assert _stored({**data, "plan": body["plan"]}) == body


_length = st.integers(1, 9000)
_opening = st.builds(
    lambda number, kind, left, low, wide, high: {
        "id": f"w{number}",
        "kind": kind,
        "outline_mm": [[left, low], [left + wide, low], [left + wide, low + high], [left, low + high]],
    },
    st.integers(0, 99), st.sampled_from(OPENING_KINDS), _length, _length, _length, _length,
)  # fmt: skip
_odd_opening = st.builds(
    lambda corners: {"id": "odd", "kind": "window", "outline_mm": [list(corner) for corner in corners]},
    st.lists(st.tuples(_length, _length), min_size=3, max_size=7),
)
_penetration = st.builds(
    lambda kind, at, across, count, free, note: {
        "id": "p1", "kind": kind, "at_mm": list(at), "diameter_mm": across, "count": count, "free_end": free, "note": note,
    },
    st.sampled_from(PENETRATION_KINDS), st.tuples(_length, _length), st.integers(1, 400), st.integers(1, 9), st.booleans(),
    st.text("abc –é,;:", max_size=12).map(str.strip),
)  # fmt: skip
_outline = st.one_of(
    st.builds(lambda wide, high: [[0, 0], [wide, 0], [wide, high], [0, high]], _length, _length),
    st.lists(st.tuples(st.integers(-500, 9000), _length).map(list), min_size=3, max_size=9),
)
_surface = st.builds(
    lambda outline, openings, penetrations, finishes, direction: {
        "id": "north", "kind": "wall", "outline_mm": outline, "room": "living",
        "members": {"direction": direction, "centres_mm": 400, "width_mm": 45, "first_mm": -20},
        "edges": [{"edge": edge, "finish": finish} for edge, finish in enumerate(finishes[: len(outline)]) if finish],
        "openings": openings, "penetrations": penetrations,
    },
    _outline, st.lists(st.one_of(_opening, _odd_opening), max_size=3), st.lists(_penetration, max_size=3),
    st.lists(st.sampled_from(["timber", "slab", ""]), min_size=3, max_size=9), st.sampled_from(["up", "across", 30, 45.5]),
)  # fmt: skip


@given(surfaces=st.lists(_surface, min_size=1, max_size=3))
def test_any_surface_comes_back_from_its_form_as_it_was(surfaces: list[dict[str, Any]]) -> None:
    body = _stored({"reference": "X", "surfaces": surfaces})
    data, unread = job_of(_sent(form_of(body)))
    assert unread == []
    assert _stored({**data, "plan": body["plan"]}) == body


def test_many_surfaces_are_carried_whole_until_one_is_opened() -> None:
    one = {
        "kind": "wall", "outline_mm": [[0, 0], [4000, 0], [4000, 2450], [0, 2450]],
        "members": {"direction": "up", "centres_mm": 400},
    }  # fmt: skip
    body = _stored({"reference": "X", "surfaces": [{**one, "id": f"s{number}"} for number in range(90)]})
    form = _sent(form_of(body, ("/surfaces/7/kind",)))
    assert isinstance(form["surfaces"][6], str)
    assert form["surfaces"][7]["id"] == "s7"
    act(form, "unfold:/surfaces/6")
    assert form["surfaces"][6]["id"] == "s6"
    data, unread = job_of(_sent(form))
    assert unread == []
    assert _stored({**data, "plan": True}) == body


def test_a_price_book_comes_back_from_its_form_as_it_was() -> None:
    book = default_price_book()
    assert load(PriceBook, book_of(_sent(form_of_book(dump(book))))) == book


@pytest.mark.parametrize(
    ("value", "written"),
    [("0.155", "15.5 %"), ("0.20", "20 %"), ("0", "0 %"), ("-0.08", "-8 %"), ("3", "300 %"), (None, ""), ("dear", "dear")],
)  # fmt: skip
def test_a_part_of_one_stands_in_its_field_in_hundredths(value: str | None, written: str) -> None:
    assert hundredths(value) == written


def test_a_hundredth_without_its_sign_is_not_guessed_at() -> None:
    form = Form({"a": "5", "b": "0.05", "c": "5 %", "d": "0", "e": "", "f": "0,5", "g": "0.00"})
    unclear = without_sign(form, [f"/{name}" for name in "abcdefg"])
    assert [fault.pointer for fault in unclear] == ["/a", "/b", "/f"]


@pytest.mark.parametrize(
    ("typed", "millimetres"),
    [("2.4 m", 2400), ("240 cm", 2400), ("8 ft 2 in", 2489), ("2,45 m", 2450), ("2450", 2450)],
)
def test_lengths_may_be_words(typed: str, millimetres: int) -> None:
    form = _sent(new_form(building=False))
    form["surfaces"][0]["_high"] = typed
    data, unread = job_of(form)
    assert unread == []
    assert data["surfaces"][0]["outline_mm"][2][1] == millimetres


def test_what_cannot_be_read_is_said_at_its_own_field() -> None:
    form = _sent(new_form(building=True))
    form["building"]["storeys"][0]["_deep"] = "deep"
    _, unread = job_of(form)
    assert [fault.pointer for fault in unread] == ["/building/storeys/0/_deep"]


def test_a_fault_without_a_field_leads_to_the_nearest_place_shown() -> None:
    form = Form({"surfaces": [{"id": "north"}]}, [Fault("/surfaces/0/members/colour", "is unknown.")])
    form.wrong("/surfaces/0")
    form.wrong("/surfaces/0/id")
    assert [place for place, _ in form.summary()] == ["/surfaces/0"]


@pytest.mark.parametrize(
    "action",
    ["", "add:", "add:/nothing", "remove:/surfaces/99", "remove:/surfaces/x", "unfold:/title", "corners:/surfaces", "x:/y/z",
     "add:/surfaces/0/openings/0/0", "copy:/building/storeys/3", "rectangle:/surfaces/0/openings/0"],
)  # fmt: skip
def test_a_button_nobody_made_does_no_harm(action: str) -> None:
    form = _sent({**new_form(building=True), "surfaces": new_form(building=False)["surfaces"]})
    act(form, action)
    job_of(form)


def test_each_shape_can_be_switched_and_back() -> None:
    form = _sent(new_form(building=True))
    act(form, "corners:/building/storeys/0")
    assert form["building"]["storeys"][0]["footprint_mm"][2] == ["10 m", "8 m"]
    act(form, "add:/building/storeys/0/footprint_mm")
    assert len(form["building"]["storeys"][0]["footprint_mm"]) == 5
    act(form, "rectangle:/building/storeys/0")
    assert form["building"]["storeys"][0]["_long"] == ""
    act(form, "drop-building:")
    assert "building" not in form
