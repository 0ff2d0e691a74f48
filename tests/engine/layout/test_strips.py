"""Strips, pieces, laps and end laps as the crew reads them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from api_schema.standard import Standard
from api_schema.surface import Members, Penetration
from tests.engine.layout.shapes import COSTS, box_at, laid, rectangle, surface
from workers.engine.costs import Membrane


def test_a_wall_is_laid_from_the_floor_and_its_last_strip_is_ripped() -> None:
    layout = laid(surface(rectangle(6200, 2450)))
    assert layout.direction == "across"
    assert [(s.id, s.from_mm, s.to_mm, s.ripped_to_mm) for s in layout.strips] == [
        ("wall/1", 0, 1500, None),
        ("wall/2", 1400, 2450, 1050),
    ]
    assert [(p.id, p.cut_length_mm, p.cut_width_mm) for s in layout.strips for p in s.pieces] == [
        ("wall/1a", 6200, 1500),
        ("wall/2a", 6200, 1050),
    ]
    (lap,) = layout.laps
    assert (lap.id, lap.at_mm, lap.spans_mm, lap.length_m, lap.on_member, lap.overlap_mm) == (
        "wall/1-2", 1400, ((0, 6200),), Decimal("6.2"), False, 100,
    )  # fmt: skip


def test_the_cost_is_membrane_laps_and_pieces() -> None:
    layout = laid(surface(rectangle(6200, 2450)))
    # by hand: 12.4 m of roll at 2.40, 6.2 m of lap at 1.60, two pieces at 1.20
    assert layout.cost == Decimal("42.08")
    assert layout.bound == layout.cost
    assert layout.proven


def test_edges_say_their_role_and_allowance() -> None:
    layout = laid(surface(rectangle(4000, 2450), finishes={0: "slab", 1: "timber", 2: "masonry"}))
    assert [(e.edge, e.role, e.allowance_mm) for e in layout.edges] == [
        (0, "slab", 80), (1, "timber", 50), (2, "masonry", 80), (3, "open", 0),
    ]  # fmt: skip
    assert layout.strips[0].from_mm == -80
    assert layout.strips[-1].to_mm == 2530
    assert layout.strips[0].pieces[0].to_mm == 4050


def test_a_gable_gets_shorter_strips_higher_up() -> None:
    layout = laid(surface(((0, 0), (8000, 0), (4000, 4000))))
    # by hand: at 45° the width at height t is 8000 − 2t
    assert [p.to_mm - p.from_mm for s in layout.strips for p in s.pieces] == [8000, 5200, 2400]
    assert [lap.length_m for lap in layout.laps] == [Decimal("5.2"), Decimal("2.4")]


def test_an_l_shape_is_cut_to_the_part_each_strip_meets() -> None:
    layout = laid(
        surface(
            ((0, 0), (6000, 0), (6000, 1400), (2000, 1400), (2000, 4200), (0, 4200)), run="across_members"
        )
    )
    assert [p.to_mm for s in layout.strips for p in s.pieces] == [6000, 2000, 2000]


def test_strips_along_the_members_have_every_lap_on_one() -> None:
    wall = surface(rectangle(5600, 2450), members=Members("up", 600), run="along_members")
    layout = laid(wall)
    assert layout.run == "along_members"
    assert layout.direction == "up"
    assert layout.laps
    for lap in layout.laps:
        assert min(lap.at_mm % 600, -lap.at_mm % 600) <= 22  # studs of 45 mm at 600 mm
        assert lap.on_member
    assert layout.reason.endswith("as asked for.")


def test_strips_run_across_where_no_lap_along_can_lie_on_a_member() -> None:
    wall = surface(rectangle(5600, 2450), members=Members("up", 3000, 45, 0), run="along_members")
    layout = laid(wall)
    assert layout.run == "across_members"
    assert "the laps cannot all lie on one" in layout.reason


def test_a_standard_that_forbids_running_along_is_obeyed() -> None:
    wall = surface(rectangle(1400, 9000), members=Members("up", 400))
    assert laid(wall).run == "along_members"
    layout = laid(wall, Standard(along_members_allowed=False))
    assert layout.run == "across_members"
    assert layout.runner_up_cost is None
    assert "the standard allows no other way" in layout.reason


def test_the_reason_names_the_timbers_and_what_the_other_way_costs() -> None:
    layout = laid(surface(rectangle(6200, 2450)))
    assert layout.runner_up_cost is not None
    assert (
        layout.reason
        == f"2 strips across the studs; along the studs costs {layout.runner_up_cost - layout.cost} more."
    )


@pytest.mark.parametrize(
    ("direction", "expected"), [("up", "across"), ("across", "up"), ("30", "120"), ("135", "45")]
)
def test_strips_run_square_to_the_members(direction: str, expected: str) -> None:
    wall = surface(rectangle(5000, 3000), members=Members(direction, 400), run="across_members")
    assert laid(wall).direction == expected


def test_a_long_wall_is_joined_on_a_stud() -> None:
    layout = laid(surface(rectangle(11_400, 2500), members=Members("up", 400)))
    for strip in layout.strips:
        (joint,) = strip.end_laps
        first, second = strip.pieces
        assert joint.id == f"{first.id}-{second.id[-1]}"
        assert (joint.from_mm, joint.to_mm) == (second.from_mm, first.to_mm)
        assert joint.to_mm - joint.from_mm == 100
        assert (joint.from_mm + joint.to_mm) // 2 % 400 == 0
        assert joint.on_member
        assert joint.length_mm == strip.to_mm - strip.from_mm
        assert all(piece.cut_length_mm <= 10_000 for piece in strip.pieces)


def test_a_joint_says_so_where_no_member_crosses_it() -> None:
    ceiling = surface(rectangle(12_000, 1400), members=Members("across", 400), run="along_members")
    layout = laid(ceiling)
    assert layout.direction == "across"
    (joint,) = layout.strips[0].end_laps
    assert not joint.on_member


def test_no_piece_is_longer_than_its_roll() -> None:
    costs = replace(COSTS, membranes=(Membrane("short", 1500, 2050, Decimal("2.40")),))
    layout = laid(surface(rectangle(6000, 2450)), costs=costs)
    pieces = [piece for strip in layout.strips for piece in strip.pieces]
    assert len(pieces) > len(layout.strips)
    assert all(piece.cut_length_mm <= 2050 for piece in pieces)


def test_a_narrow_roll_closes_the_last_strip_where_that_is_cheaper() -> None:
    wide = Membrane("wide", 1500, 50_000, Decimal("2.40"))
    narrow = Membrane("narrow", 750, 50_000, Decimal("1.10"))
    layout = laid(
        surface(rectangle(6000, 2050), run="across_members"), costs=replace(COSTS, membranes=(wide, narrow))
    )
    assert sorted(strip.product for strip in layout.strips) == ["narrow", "wide"]
    one = laid(surface(rectangle(6000, 2050), run="across_members"))
    assert layout.cost == one.cost - Decimal("6.0") * Decimal("1.30")


def test_a_lap_keeps_clear_of_a_pipe_where_it_can() -> None:
    pipe = Penetration("p1", "pipe", (3000, 1400), 110)
    free = surface(rectangle(6200, 2450), run="across_members")
    near = replace(free, penetrations=(pipe,))
    (lap,) = laid(near).laps
    assert abs(lap.at_mm - 1400) >= 55 + 100
    assert laid(near).cost == laid(free).cost  # there is room to move the lap for nothing


def test_a_lap_beside_a_pipe_is_paid_for_where_there_is_no_room() -> None:
    pipes = tuple(Penetration(f"p{i}", "pipe", (3000, v), 110) for i, v in enumerate(range(0, 2901, 150)))
    free = surface(rectangle(6000, 2900), run="across_members")
    # by hand: the zone round a pipe is 110 + 2·100 = 310 mm wide, 5.00 by metre
    assert laid(replace(free, penetrations=pipes)).cost - laid(free).cost == Decimal("1.55")


def test_a_lap_keeps_off_the_head_of_a_window() -> None:
    window = surface(rectangle(6000, 2450), openings=(box_at(500, 200, 5500, 1390),), run="across_members")
    (lap,) = laid(window).laps
    assert lap.at_mm < 1390 or lap.at_mm >= 1490
    assert all(stop <= 500 or start >= 5500 for start, stop in lap.spans_mm) or lap.at_mm >= 1490


def test_an_opening_from_side_to_side_leaves_two_fields_without_a_lap() -> None:
    layout = laid(
        surface(rectangle(2000, 2500), openings=(box_at(0, 900, 2000, 2100),), run="across_members")
    )
    assert [(s.from_mm, s.to_mm) for s in layout.strips] == [(0, 900), (2100, 2500)]
    assert layout.laps == ()


def test_more_than_twenty_six_pieces_go_on_with_two_letters() -> None:
    teeth = tuple(
        corner
        for k in range(30)
        for corner in ((k * 1500, 1000), (k * 1500 + 500, 1000), (k * 1500 + 500, 10), (k * 1500 + 1500, 10))
    )
    comb = (*teeth[:-1], (29 * 1500 + 500, 0), (0, 0))
    layout = laid(surface(tuple(reversed(comb)), run="across_members"))
    assert layout.strips[0].pieces
    high = surface(rectangle(45_000, 1400), run="across_members",
                   openings=tuple(box_at(500 + k * 1500, 0, 1500 + k * 1500, 1400) for k in range(29)))  # fmt: skip
    names = [piece.id for piece in laid(high).strips[0].pieces]
    assert names[25:28] == ["wall/1z", "wall/1aa", "wall/1ab"]
