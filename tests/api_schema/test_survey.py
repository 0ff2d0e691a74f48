"""What a survey is told when it cannot be used."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.job import EdgeReference, Job, Junction
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface
from api_schema.survey import doubled_area_mm2, edge_length_mm, find_faults, normalised

STUDS = Members(direction="up", centres_mm=400)
RECTANGLE = ((0, 0), (6200, 0), (6200, 2450), (0, 2450))
WALL = Surface(id="wall", kind="wall", outline_mm=RECTANGLE, members=STUDS)
WINDOW = Opening("w1", "window", ((1800, 900), (3600, 900), (3600, 2100), (1800, 2100)))


def job(*surfaces: Surface, junctions: tuple[Junction, ...] = ()) -> Job:
    return Job(reference="T-1", surfaces=surfaces, junctions=junctions)


def wall(**changes: object) -> Surface:
    return dataclasses.replace(WALL, **changes)


def test_a_sound_survey_has_no_faults() -> None:
    pipe = Penetration("p1", "pipe", (5200, 300), diameter_mm=110)
    assert find_faults(job(wall(openings=(WINDOW,), penetrations=(pipe,)))) == ()


def test_a_door_may_stand_on_the_floor() -> None:
    door = Opening("d1", "door", ((4000, 0), (4900, 0), (4900, 2100), (4000, 2100)))
    assert find_faults(job(wall(openings=(door,)))) == ()


def test_a_crossing_outline_is_refused_with_the_place_and_the_corner() -> None:
    (fault,) = find_faults(job(wall(outline_mm=((0, 0), (2000, 2000), (2000, 0), (0, 2000)))))
    assert fault.pointer.startswith("/surfaces/0/outline_mm/")
    assert "[1000, 1000]" in fault.detail


@pytest.mark.parametrize(
    ("surface", "pointer", "words"),
    [
        (
            wall(outline_mm=((0, 0), (100, 0), (200, 0))),
            "/surfaces/0/outline_mm",
            "no area",
        ),
        (wall(outline_mm=((0, 0), (0, 0), (200, 0), (0, 90))), "/surfaces/0/outline_mm/1", "stands on"),
        (wall(edges=(EdgeFinish(9, "slab"),)), "/surfaces/0/edges/0/edge", "no edge 9"),
        (wall(edges=(EdgeFinish(0, "slab"), EdgeFinish(0, "timber"))), "/surfaces/0/edges/1/edge", "twice"),
        (
            wall(openings=(Opening("w", "window", ((-5, 0), (900, 0), (900, 900), (-5, 900))),)),
            "/surfaces/0/openings/0/outline_mm",
            "outside wall at its corner 0",
        ),
        (
            wall(openings=(WINDOW, dataclasses.replace(WINDOW, id="w2"))),
            "/surfaces/0/openings/1/outline_mm",
            "overlaps w1",
        ),
        (wall(openings=(WINDOW, WINDOW)), "/surfaces/0/openings/1/id", "another opening"),
        (
            wall(penetrations=(Penetration("p", "pipe", (10, 10)),)),
            "/surfaces/0/penetrations/0",
            "diameter_mm",
        ),
        (
            wall(penetrations=(Penetration("b", "timber", (10, 10)),)),
            "/surfaces/0/penetrations/0",
            "width_mm",
        ),
        (
            wall(penetrations=(Penetration("p", "pipe", (9000, 10), diameter_mm=50),)),
            "/surfaces/0/penetrations/0/at_mm",
            "outside wall",
        ),
        (
            wall(openings=(WINDOW,), penetrations=(Penetration("p", "pipe", (2000, 1000), diameter_mm=50),)),
            "/surfaces/0/penetrations/0/at_mm",
            "in the opening w1",
        ),
    ],
)
def test_a_fault_is_named_where_it_stands(surface: Surface, pointer: str, words: str) -> None:
    faults = find_faults(job(surface))
    assert any(
        fault.pointer == pointer and any(word in fault.detail for word in words.split("|"))
        for fault in faults
    ), faults


def test_every_fault_is_reported_at_once() -> None:
    broken = wall(
        edges=(EdgeFinish(9, "slab"),), penetrations=(Penetration("p", "pipe", (9000, 10), diameter_mm=50),)
    )
    assert len(find_faults(job(broken, dataclasses.replace(broken)))) == 5  # two each, and the name twice


def test_an_empty_job_says_what_it_needs() -> None:
    (fault,) = find_faults(job())
    assert fault.pointer == "/surfaces"


def test_junctions_must_name_edges_that_exist_and_are_free() -> None:
    a, b = EdgeReference("wall", 1), EdgeReference("other", 3)
    other = dataclasses.replace(WALL, id="other", edges=(EdgeFinish(3, "timber"),))
    found = find_faults(job(WALL, other, junctions=(Junction(a, b), Junction(a, EdgeReference("roof", 0)))))
    assert [fault.pointer for fault in found] == [
        "/junctions/0/b",
        "/junctions/1/a",
        "/junctions/1/b/surface",
    ]


def test_too_many_corners_are_refused_before_any_geometry() -> None:
    ring = (*((x, x % 7) for x in range(2000)), (0, 5000))
    many = tuple(dataclasses.replace(WALL, id=f"s{n}", outline_mm=ring) for n in range(6))
    (fault,) = find_faults(job(*many))
    assert "10000" in fault.detail


@given(st.integers(1, 5000), st.integers(1, 5000), st.integers(0, 3))
def test_turning_an_outline_keeps_every_finish_on_the_same_two_corners(
    wide: int, high: int, edge: int
) -> None:
    clockwise = ((0, 0), (0, high), (wide, high), (wide, 0))
    surface = wall(outline_mm=clockwise, edges=(EdgeFinish(edge, "slab"),))
    (turned,) = normalised(job(surface)).surfaces
    assert doubled_area_mm2(turned.outline_mm) == 2 * wide * high
    new = turned.edges[0].edge
    ends = {turned.outline_mm[new], turned.outline_mm[(new + 1) % 4]}
    assert ends == {clockwise[edge], clockwise[(edge + 1) % 4]}
    assert edge_length_mm(turned.outline_mm, new) == edge_length_mm(clockwise, edge)
    assert normalised(normalised(job(surface))) == normalised(job(surface))
