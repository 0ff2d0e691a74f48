"""Battens over the membrane, counted on paper."""

import dataclasses
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.surface import Members, Opening, Surface
from tests.engine.takeoff.samples import rectangle
from workers.engine.plan import plan_job
from workers.engine.takeoff.battens import battens

SIX_BY_THREE = rectangle(0, 0, 6000, 3000)


def slope(outline=SIX_BY_THREE, **more):
    members = more.pop("members", Members("up", 600))
    return Surface("s", more.pop("kind", "slope"), outline, members, **more)


def test_across_the_members_at_centres_the_first_half_of_it_from_the_edge():
    """C: 3 000 mm at 400 mm: at 200, 600 … 2 600, that is 7 lines of 6 m."""
    assert battens(slope(), "slopes_and_ceilings", "across_members", 400) == 7 * 6000


def test_along_every_member_but_those_on_the_edges():
    """C: rafters at 0, 600 … 6 000; the first and last are the edges' own timber: 9 of 3 m."""
    assert battens(slope(), "slopes_and_ceilings", "along_members", 400) == 9 * 3000


def test_an_opening_interrupts_them():
    """C: a rooflight of 780 × 1 180 from v 900: the lines at 1 000, 1 400 and 1 800 lose 780 each."""
    with_light = slope(openings=(Opening("r", "rooflight", rectangle(2000, 900, 2780, 2080)),))
    assert battens(with_light, "everywhere", "across_members", 400) == 7 * 6000 - 3 * 780


def test_members_across_turn_the_battens():
    """C: joists across: battens stand up, at 200, 600 … 5 800: 15 of 3 m."""
    turned = slope(members=Members("across", 600))
    assert battens(turned, "everywhere", "across_members", 400) == 15 * 3000


@pytest.mark.parametrize("degrees", ["30", "75", "135"])
def test_at_an_angle_they_cover_about_area_over_centres(degrees):
    """C: lines c apart over an area A measure about A ÷ c."""
    found = battens(slope(members=Members(degrees, 600)), "everywhere", "across_members", 100)
    assert float(found) == pytest.approx(6000 * 3000 / 100, rel=0.02)


@pytest.mark.parametrize(
    ("where", "kinds"),
    [
        ("none", set()),
        ("slopes_and_ceilings", {"slope", "ceiling"}),
        ("everywhere", {"wall", "slope", "ceiling"}),
    ],
)
def test_they_go_where_the_standard_says_and_never_on_floors(where, kinds):
    found = {
        kind
        for kind in ("wall", "slope", "ceiling", "floor", "reveal")
        if battens(slope(kind=kind), where, "across_members", 400)
    }
    assert found == kinds


@given(
    width=st.integers(100, 9000),
    height=st.integers(100, 9000),
    centres=st.integers(50, 2000),
    left=st.integers(0, 50),
    direction=st.sampled_from(["up", "across"]),
)
def test_no_part_of_the_sheet_is_farther_than_half_the_centres(width, height, centres, left, direction):
    outline = rectangle(left, left, left + width, left + height)
    found = battens(slope(outline, members=Members(direction, 600)), "everywhere", "across_members", centres)
    extent, length = (height, width) if direction == "up" else (width, height)
    lines = found / length
    assert lines == int(lines)
    assert lines * centres >= extent - centres // 2 - 1
    assert (lines - 1) * centres < extent


def planned(insulation, **standard):
    job = Job("B", surfaces=(dataclasses.replace(slope(), room="loft"),), insulation=insulation)
    return plan_job(
        job, dataclasses.replace(default_standard(), **standard), default_outputs(), default_price_book()
    )


def test_blown_in_insulation_brings_battens_and_insulation_in_place_none():
    assert not [one for one in planned("in_place").take_off.quantities if one.item == "batten"]
    plan = planned("blown_in")
    (batten,) = [one for one in plan.take_off.quantities if one.item == "batten"]
    assert (batten.quantity, batten.unit) == (Decimal("42.000"), "m")
    lines = [one for one in plan.order_lines if one.kind == "batten"]
    assert lines[0].needed + lines[0].waste == Decimal("46.200")
    assert sum(one.packs * one.pack_size for one in lines) >= Decimal("46.2")
    (work,) = [one for one in plan.labour.operations if one.operation == "fix_batten"]
    assert (work.position, work.quantity) == ("slope", Decimal("42.000"))
    assert work.hours == Decimal("4.620")  # 42 m × 4.8 min × 1.25 (slope) × 1.10 (over 2.5 m) ÷ 60
    assert sum(one.amount for one in plan.price.lines) == plan.price.net


def test_the_standard_may_have_none_or_one_along_every_member():
    assert not [
        one for one in planned("blown_in", battens_blown_in="none").order_lines if one.kind == "batten"
    ]
    along = planned("in_place", battens_in_place="everywhere", batten_run="along_members")
    (batten,) = [one for one in along.take_off.quantities if one.item == "batten"]
    assert batten.quantity == Decimal("27.000")
