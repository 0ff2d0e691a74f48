"""Staples counted member by member."""

import dataclasses
import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from api_schema.surface import Members, Opening
from tests.engine.takeoff.samples import (
    covering,
    laid,
    rectangle,
    sample_layout,
    sample_wall,
    strip,
    wall,
    window,
)
from workers.engine.takeoff.fixings import inside, staples
from workers.engine.takeoff.segments import edges_of


def row(length_mm, centres_mm=100):
    return length_mm // centres_mm + 1


def test_studs_and_plates_of_a_plain_wall():
    """C: 15 studs inside (400 to 6000); the one at 0 is the edge itself; two ends, two plates."""
    plain = wall()
    assert staples(plain, covering(plain), 100) == 15 * row(2450) + 2 * row(2450) + 2 * row(6200)


def test_closer_centres_take_more_staples():
    plain = wall()
    assert staples(plain, covering(plain), 50) == 17 * row(2450, 50) + 2 * row(6200, 50)


def test_a_lap_is_stapled_on_both_sheets():
    plain = wall()
    two = laid("north", [strip("n/1", (0, 1500), [(0, 6200)]), strip("n/2", (1400, 2450), [(0, 6200)])])
    assert staples(plain, two, 100) == 17 * (row(1500) + row(1050)) + 2 * row(6200)


def test_the_sample_wall_counted_on_paper():
    """C: every stud and trimmer of the sample wall, sheet by sheet (lower to 1420, upper from 1320)."""
    whole = row(1420) + row(1130)
    cut_by_window = row(900) + row(2450 - 2100)  # below, in the lower sheet; above, in the upper one
    above_door = row(2450 - 2100)
    studs = 4 * whole + 4 * cut_by_window + 3 * above_door + 3 * whole
    # 400 to 1600 | 2000 to 3200 under and over the window, whose right side stands at 3600 | 4000 is the door's side
    studs += row(900) + row(350)  # the stud at 3600 below and above the window
    studs += row(350)  # the stud at 4000 above the door
    studs -= above_door  # 4000 was one of the three counted over the door
    plates = row(4000) + row(1300) + row(6200)
    ends = 2 * whole
    window_trimmers = 2 * (row(1420 - 900) + row(2100 - 1320)) + 2 * row(1800)
    door_trimmers = 2 * (row(1420) + row(2100 - 1320)) + row(900)
    assert (
        staples(sample_wall(), sample_layout(), 100)
        == studs + plates + ends + window_trimmers + door_trimmers
    )


def test_nothing_is_stapled_where_a_door_meets_the_floor():
    with_door = wall(openings=(Opening("d", "door", rectangle(4000, 0, 4900, 2450)),))
    without = staples(wall(), covering(wall()), 100)
    studs_lost = 3 * row(2450)  # 4000, 4400, 4800
    jambs = 2 * row(2450)
    plates = 2 * (row(4000) + row(1300)) - 2 * row(6200)
    assert staples(with_door, covering(with_door), 100) == without - studs_lost + jambs + plates


def test_a_wall_measured_from_its_middle_has_studs_on_both_sides():
    centred = wall(outline=rectangle(-3100, 0, 3100, 2450))
    studs = 15  # -2800 to 2800
    assert staples(centred, covering(centred), 100) == (studs + 2) * row(2450) + 2 * row(6200)


def test_members_lying_across_are_counted_along_their_own_length():
    ceiling = wall(outline=rectangle(0, 0, 3000, 4050), members=Members("across", 400))
    across = covering(ceiling, direction="up")
    along = covering(ceiling, run="along_members")
    expected = 10 * row(3000) + 2 * row(3000) + 2 * row(4050)
    assert staples(ceiling, across, 100) == staples(ceiling, along, 100) == expected


def test_strips_run_up_along_the_studs():
    plain = wall()
    up = laid("n", [strip("n/1", (-10, 6300), [(-10, 2500)])], run="along_members", direction="up")
    assert staples(plain, up, 100) == 17 * row(2450) + 2 * row(6200)


def test_a_gable_is_clipped_to_its_slopes():
    """C: a right triangle 4000 by 3000; the stud at u rises to 3u/4; the slope measures 5000."""
    gable = wall(outline=((0, 0), (4000, 0), (4000, 3000)), members=Members("up", 1000))
    studs = row(750) + row(1500) + row(2250)
    assert staples(gable, covering(gable), 100) == studs + row(4000) + row(3000) + row(5000)


@pytest.mark.parametrize("turned", [0, 30, 120, 150])
def test_turning_a_surface_with_its_members_keeps_the_count(turned):
    """A rectangle turned about its corner with its members has the same timbers as one that stands upright."""
    angle = math.radians(turned)
    upright = wall(outline=rectangle(0, 0, 4050, 2450), members=Members("across", 400))
    corners = tuple(
        (round(u * math.cos(angle) - v * math.sin(angle)), round(u * math.sin(angle) + v * math.cos(angle)))
        for u, v in upright.outline_mm
    )
    members = Members(str(turned) if turned else "across", 400)
    surface = wall(outline=corners, members=members)
    everywhere = laid(
        "n", [strip("n/1", (-9000, 9000), [(-9000, 9000)])], run="along_members", direction=members.direction
    )
    expected = 6 * row(4050) + 2 * row(4050) + 2 * row(2450)
    assert staples(surface, everywhere, 100) == expected
    square_to_it = str((turned + 90) % 180) if turned else "up"
    across = dataclasses.replace(everywhere, run="across_members", direction=square_to_it)
    assert staples(surface, across, 100) == expected


def test_a_line_along_an_edge_is_not_inside():
    ell = edges_of(((0, 0), (2000, 0), (2000, 1000), (1000, 1000), (1000, 2000), (0, 2000)))
    assert inside(ell, 1000) == [(0, 1000)]
    assert inside(ell, 0) == inside(ell, 2000) == []
    assert inside(ell, 500) == [(0, 2000)]


@st.composite
def stars(draw):
    """A polygon round (0, 0) that cannot cross itself."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.integers(500, 4000), min_size=count, max_size=count))
    return tuple(
        (round(r * math.cos(2 * math.pi * i / count)), round(r * math.sin(2 * math.pi * i / count)))
        for i, r in enumerate(radii)
    )


@given(outline=stars(), x=st.integers(-4000, 4000))
def test_the_clipped_line_agrees_with_an_independent_geometry_library(outline, x):
    polygon = Polygon(outline)
    if not polygon.is_valid:
        return
    line = LineString([(x, -10_000), (x, 10_000)])
    length = sum(float(high - low) for low, high in inside(edges_of(outline), x))
    along_edges = line.intersection(polygon.exterior).length
    assert length == pytest.approx(line.intersection(polygon).length - along_edges, abs=1e-6)


@given(
    left=st.integers(100, 3000), bottom=st.integers(0, 1500), width=st.integers(100, 3000), height=st.integers(100, 900),
    centres=st.sampled_from([300, 400, 600]),
)  # fmt: skip
def test_staples_agree_with_members_clipped_by_an_independent_geometry_library(
    left, bottom, width, height, centres
):
    hole = window("w", left, bottom, left + width, bottom + height)
    surface = wall(openings=(hole,), members=Members("up", centres, first_mm=17))
    layout = laid("n", [strip("n/1", (-9, 1491), [(-9, 6300)]), strip("n/2", (1391, 2500), [(-9, 6300)])])
    sheets = [box(-9, -9, 6300, 1491), box(-9, 1391, 6300, 2500)]
    region = (
        Polygon(surface.outline_mm, [hole.outline_mm])
        if bottom
        else Polygon(surface.outline_mm) - Polygon(hole.outline_mm)
    )
    lines = [LineString([(x, -100), (x, 3000)]) for x in range(17, 6200, centres)]
    lines = [line.intersection(region).difference(region.boundary) for line in lines]
    lines.append(region.boundary)
    counted = 0
    for sheet in sheets:
        for line in lines:
            clipped = line.intersection(sheet)
            for part in getattr(clipped, "geoms", [clipped]):
                points = list(getattr(part, "coords", []))
                for a, b in itertools.pairwise(points):
                    length = round(math.dist(a, b), 6)
                    counted += int(length // 100) + 1 if length >= 1 else 0
    assert staples(surface, layout, 100) == counted
