"""Sizes nobody should send: a sensible layout or a refusal that says what to do."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import cos, pi, sin

import pytest

from api_schema.job import EdgeReference, Job, Junction
from api_schema.standard import Standard
from api_schema.surface import Members
from tests.engine.layout.judge import missing_mm2
from tests.engine.layout.shapes import COSTS, box_at, laid, rectangle, surface
from workers.engine.costs import LayoutCosts, Membrane
from workers.engine.layout import LayoutError, lay_out


def with_roll(width: int, length: int) -> LayoutCosts:
    return replace(COSTS, membranes=(Membrane("roll", width, length, Decimal("2.40")),))


@pytest.mark.parametrize("outline", [rectangle(5, 2500), rectangle(5000, 5), rectangle(1, 1)])
def test_a_sliver_is_laid(outline: tuple[tuple[int, int], ...]) -> None:
    one = surface(outline, finishes={0: "slab", 1: "masonry"})
    assert missing_mm2(one, laid(one)) == 0


@pytest.mark.parametrize("direction", ["up", "across", "37"])
def test_a_hall_of_forty_metres_is_laid_and_proven(direction: str) -> None:
    hall = surface(rectangle(40_000, 9_000), members=Members(direction, 600))
    layout = laid(hall)
    assert missing_mm2(hall, layout) < 1.0
    assert layout.bound <= layout.cost
    assert layout.proven or direction == "37"


def test_a_roof_over_the_hall_is_laid() -> None:
    roof = surface(((0, 0), (40_000, 0), (32_000, 9_000), (8_000, 9_000)), run="across_members")
    layout = laid(roof)
    assert missing_mm2(roof, layout) < 1.0
    assert layout.proven


def test_a_kilometre_is_laid_without_a_proof() -> None:
    layout = laid(surface(rectangle(1_000_000, 2_450), run="across_members"))
    assert len(layout.strips) == 2
    assert not layout.proven
    assert 0 < layout.bound < layout.cost
    assert all(joint.on_member for strip in layout.strips for joint in strip.end_laps)


def test_two_thousand_joined_surfaces_are_laid() -> None:
    walls = tuple(surface(rectangle(3000 + i % 7, 2400), name=f"w{i}") for i in range(2000))
    corners = tuple(
        Junction(EdgeReference(f"w{i}", 1), EdgeReference(f"w{i + 1}", 3)) for i in range(len(walls) - 1)
    )
    layout = lay_out(Job("x", walls, corners), Standard(), COSTS)
    assert len(layout.surfaces) == 2000
    assert layout.proven


def test_an_outline_of_very_many_corners_is_laid() -> None:
    corners = 400
    wheel = tuple(
        (
            round((4000 + k % 2 * 300) * cos(2 * pi * k / corners)),
            round((4000 + k % 2 * 300) * sin(2 * pi * k / corners)),
        )
        for k in range(corners)
    )
    one = surface(wheel)
    assert missing_mm2(one, laid(one)) < 1.0


def test_a_roll_no_wider_than_the_lap_is_refused() -> None:
    with pytest.raises(
        LayoutError, match=r"widest membrane is 90 mm, not wider than the lap of 100 mm.*Choose a wider"
    ):
        laid(surface(rectangle(4000, 2450)), costs=with_roll(90, 50_000))


def test_a_roll_hardly_wider_than_the_lap_is_laid_with_very_many_strips() -> None:
    layout = laid(surface(rectangle(1000, 1000), run="across_members"), costs=with_roll(110, 50_000))
    assert len(layout.strips) == 90  # (1000 − 100)/(110 − 100)


def test_a_roll_too_short_for_an_end_lap_is_refused() -> None:
    with pytest.raises(
        LayoutError, match=r"90 mm long at most, not longer than an end lap of 100 mm.*longer roll"
    ):
        laid(surface(rectangle(4000, 2450)), costs=with_roll(1500, 90))


def test_no_membrane_at_all_is_refused() -> None:
    with pytest.raises(LayoutError, match=r"no membrane.*add one"):
        laid(surface(rectangle(4000, 2450)), costs=replace(COSTS, membranes=()))


def test_an_opening_as_large_as_the_surface_is_refused() -> None:
    with pytest.raises(LayoutError, match="wall: its openings leave nothing to cover"):
        laid(surface(rectangle(2000, 2000), openings=(box_at(0, 0, 2000, 2000),)))


def test_a_job_without_surfaces_costs_nothing() -> None:
    layout = lay_out(Job("x"), Standard(), COSTS)
    assert layout.surfaces == ()
    assert layout.cost == 0
