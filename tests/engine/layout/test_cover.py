"""The strips cover the whole region, and the laps keep their width."""

from __future__ import annotations

import random
from dataclasses import replace

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from api_schema.layout import SurfaceLayout
from api_schema.standard import Standard
from api_schema.surface import Members, Opening, Surface
from tests.engine.layout.judge import covered, into_surface, missing_mm2, wanted
from tests.engine.layout.shapes import laid, odd_openings, odd_outline, rectangle, surface

FINISHES = ("timber", "masonry", "slab", "frame", "open")
seeds = st.integers(0, 10**9)


def odd_surface(seed: int, *, angle: bool = True) -> Surface:
    """A surface as large as a room's, with finishes all round and sometimes a door on its lowest edge."""
    dice = random.Random(seed)
    outline = odd_outline(dice, dice.randint(300, 9000), dice.randint(300, 6000))
    openings = odd_openings(dice, outline, dice.randint(0, 3))
    directions = ["up", "across", "30", "112.5"] if angle else ["up", "across"]
    members = Members(
        dice.choice(directions), dice.randint(300, 700), dice.randint(20, 90), dice.randint(0, 600)
    )
    return surface(
        outline,
        openings,
        members,
        {edge: dice.choice(FINISHES) for edge in range(len(outline)) if dice.random() < 0.8},
    )


@given(seeds)
def test_nothing_of_the_region_is_left_bare(seed: int) -> None:
    one = odd_surface(seed)
    assert missing_mm2(one, laid(one)) < 1.0  # mm², float noise of the judge


@given(seeds)
def test_every_lap_is_as_wide_as_asked(seed: int) -> None:
    one = odd_surface(seed)
    standard = Standard(lap_mm=random.Random(seed).choice([60, 100, 150]))
    layout = laid(one, standard)
    by_number = {strip.id: strip for strip in layout.strips}
    for lap in layout.laps:
        below, above = (by_number[f"{one.id}/{number}"] for number in lap.id.split("/")[1].split("-"))
        assert lap.at_mm == above.from_mm
        assert lap.overlap_mm == below.to_mm - above.from_mm >= standard.lap_mm


@given(seeds)
@settings(max_examples=30)
def test_pieces_are_as_wide_as_what_they_must_cover(seed: int) -> None:
    one = odd_surface(seed)
    layout = laid(one)
    region = wanted(one, layout)
    for strip in layout.strips:
        assert strip.to_mm - strip.from_mm <= 1500
        assert strip.ripped_to_mm in (None, strip.to_mm - strip.from_mm)
        for piece in strip.pieces:
            whole = into_surface(
                box(piece.from_mm, strip.from_mm, piece.to_mm, strip.to_mm), layout.direction
            )
            part = region.intersection(whole)
            assert piece.cut_width_mm <= strip.to_mm - strip.from_mm
            assert piece.cut_width_mm >= _height(part, layout) - 1e-6
            assert piece.cut_length_mm >= piece.to_mm - piece.from_mm
            assert piece.cut_length_mm % 100 == 0


def _height(part: shapely.Geometry, layout: SurfaceLayout) -> float:
    """Extent of a part of the surface across the strips."""
    if part.is_empty:
        return 0.0
    turned = into_surface(part, layout.direction) if layout.direction == "up" else part
    if layout.direction not in ("up", "across"):
        turned = shapely.affinity.rotate(part, -float(layout.direction), origin=(0, 0))
    return float(turned.bounds[3] - turned.bounds[1])


@given(seeds)
@settings(max_examples=30)
def test_a_mirrored_surface_costs_the_same(seed: int) -> None:
    one = odd_surface(seed, angle=False)
    mirrored = replace(
        one,
        outline_mm=tuple((-u, v) for u, v in one.outline_mm),
        openings=tuple(replace(o, outline_mm=tuple((-u, v) for u, v in o.outline_mm)) for o in one.openings),
        members=replace(one.members, first_mm=-one.members.first_mm)
        if one.members.direction == "up"
        else one.members,
        run="across_members" if one.members.direction == "up" else "along_members",
    )
    same_way = replace(one, run=mirrored.run)
    if one.members.direction == "across" and laid(same_way).run != "along_members":
        return  # no lap can lie on a member here: the strips would run up and be laid from the other side
    assert laid(mirrored).cost == laid(same_way).cost


@given(seeds)
@settings(max_examples=30)
def test_what_is_stored_clockwise_is_laid_the_same(seed: int) -> None:
    one = odd_surface(seed)
    count = len(one.outline_mm)
    clockwise = replace(
        one,
        outline_mm=(one.outline_mm[0], *one.outline_mm[:0:-1]),
        edges=tuple(replace(finish, edge=count - 1 - finish.edge) for finish in one.edges),
    )
    first, second = laid(one), laid(clockwise)
    assert first.cost == second.cost
    assert first.strips == second.strips


@given(seeds)
@settings(max_examples=30)
def test_the_same_survey_gives_the_same_layout_to_the_last_byte(seed: int) -> None:
    one = odd_surface(seed)
    assert repr(laid(one)) == repr(laid(replace(one)))


@given(st.integers(300, 4000), st.integers(0, 3000), st.integers(100, 2000), st.integers(500, 2400))
def test_no_membrane_crosses_a_doorway_in_the_floors_allowance(
    width: int, left: int, door: int, head: int
) -> None:
    wall = surface(
        rectangle(left + door + width, 2500),
        finishes={0: "slab", 1: "timber", 2: "timber", 3: "timber"},
        members=Members("up", 600),
    )
    wall = replace(
        wall,
        openings=(Opening("d1", "door", ((left, 0), (left + door, 0), (left + door, head), (left, head))),),
        run="across_members",
    )
    layout = laid(wall)
    assert missing_mm2(wall, layout) == 0
    lowest = layout.strips[0]
    if lowest.to_mm <= head:  # the door crosses the whole strip
        assert (
            all(piece.to_mm <= left or piece.from_mm >= left + door for piece in lowest.pieces)
            or len(lowest.pieces) == 1
        )


def test_a_doorway_separates_the_pieces_beside_it() -> None:
    wall = surface(
        rectangle(5000, 2500),
        finishes={0: "slab"},
        openings=(((2000, 0), (2900, 0), (2900, 2100), (2000, 2100)),),
    )
    lowest = laid(wall).strips[0]
    assert [(p.from_mm, p.to_mm) for p in lowest.pieces] == [(0, 2000), (2900, 5000)]
    assert lowest.from_mm == -80


def test_a_gap_not_worth_a_piece_is_covered() -> None:
    narrow = surface(rectangle(5000, 2500), openings=(((2000, 0), (2150, 0), (2150, 2100), (2000, 2100)),))
    assert [(p.from_mm, p.to_mm) for p in laid(narrow).strips[0].pieces] == [(0, 5000)]


@given(seeds)
@settings(max_examples=30)
def test_openings_turned_in_keep_their_membrane(seed: int) -> None:
    one = odd_surface(seed, angle=False)
    layout = laid(one, Standard(opening_turn_in_mm=40))
    assert missing_mm2(one, layout, 40) < 1.0


def test_the_hall_gable_and_chamfer_are_covered_with_unequal_allowances() -> None:
    shapes = (
        ((0, 0), (5000, 0), (5000, 2000), (2500, 2600), (0, 2000)),
        ((0, 0), (4000, 0), (9000, 300), (0, 900)),
        ((0, 0), (3000, 0), (3000, 40), (3010, 2000), (0, 2000)),
        ((0, 0), (2000, 0), (2000, 30), (1000, 30), (1000, 60), (2000, 60), (2000, 2000), (0, 2000)),
    )
    for outline in shapes:
        for finish in FINISHES:
            for edge in range(len(outline)):
                finishes = dict.fromkeys(range(len(outline)), "masonry") | {edge: finish}
                one = surface(outline, finishes=finishes)
                layout = laid(one)
                assert missing_mm2(one, layout) < 1.0
                assert Polygon(outline).buffer(450).covers(wanted(one, layout))
                assert covered(layout).area > 0
