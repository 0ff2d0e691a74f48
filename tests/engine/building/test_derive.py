"""What a described building becomes."""

from __future__ import annotations

import dataclasses
import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api_schema.building import Building
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.problem import SurveyFaults
from api_schema.shape import dump, load
from api_schema.surface import EdgeFinish, Surface
from api_schema.survey_report import MeasuredSurface
from tests.engine.building.buildings import building, rectangle, storey
from tests.engine.building.closed import assert_closed
from workers.engine.building import DerivedSurvey, derive, measured, with_building
from workers.engine.plan import plan_job

DEMO = Path(__file__).parents[3] / "deploy" / "demo" / "building.json"


def surfaces(survey: DerivedSurvey) -> dict[str, Surface]:
    return {surface.id: surface for surface in survey.surfaces}


def derived(*storeys: dict[str, Any], **more: Any) -> DerivedSurvey:
    survey = derive(building(storeys=list(storeys), **more))
    assert_closed(survey)
    return survey


def test_a_footprint_listed_clockwise_gives_the_same_surfaces() -> None:
    plan = rectangle(8000, 6000)
    one = derived(storey("g", plan, 2400))
    other = derived(storey("g", plan[::-1], 2400, wall_names=["north", "east", "south", "west"]))
    assert surfaces(one) == surfaces(other)


def test_a_floor_between_storeys_is_lined_round_its_rim_and_kept_out_of_the_volume() -> None:
    plan = rectangle(8000, 6000)
    survey = derived(storey("g", plan, 2400), storey("u", plan, 2400, floor_zone_mm=300))
    assert survey.volume_m3 == 2 * Decimal("115.2")
    assert survey.enclosed_m3 == Decimal("244.8")
    rims = [surface for surface in survey.surfaces if surface.id.endswith("-rim")]
    assert sorted(surface.outline_mm[2] for surface in rims) == [
        (6000, 300),
        (6000, 300),
        (8000, 300),
        (8000, 300),
    ]


def test_an_interrupted_floor_leaves_its_rim_to_others_and_walls_end_on_timber() -> None:
    plan = rectangle(8000, 6000)
    survey = derived(storey("g", plan, 2400), storey("u", plan, 2400, floor_zone="interrupted"))
    assert not [surface for surface in survey.surfaces if "rim" in surface.id]
    assert EdgeFinish(2, "timber") in surfaces(survey)["g-south"].edges
    assert EdgeFinish(0, "timber") in surfaces(survey)["u-south"].edges
    assert survey.envelope_area_m2 == Decimal("238.8")  # 28 m × 5.1 m and twice 48 m²: lined or not


def test_a_room_in_the_roof_has_knee_walls_slopes_and_a_collar_ceiling() -> None:
    roof = {"form": "gable", "pitch_deg": 45, "collar_mm": 2400}
    survey = derived(storey("a", rectangle(10000, 6000), 1000, roof=roof))
    found = surfaces(survey)
    assert found["a-south"].outline_mm == ((0, 0), (10000, 0), (10000, 1000), (0, 1000))
    assert found["a-south-slope"].outline_mm[2] == (10000, 1980)  # 1400 × √2
    assert found["a-ceiling"].outline_mm[2] == (10000, 3200)  # 6000 − 2 × 1400
    assert found["a-east"].outline_mm == (
        (0, 0),
        (6000, 0),
        (6000, 1000),
        (4600, 2400),
        (1400, 2400),
        (0, 1000),
    )
    angles = {frozenset((j.a.surface, j.b.surface)): j.angle_deg for j in survey.junctions}
    assert angles[frozenset(("a-south", "a-south-slope"))] == Decimal("135.0")
    assert angles[frozenset(("a-south", "a-east"))] == Decimal("90.0")


def test_a_layer_at_the_joists_stays_level_under_the_roof() -> None:
    roof = {"form": "hip", "pitch_deg": 45, "layer": "joists"}
    kinds = {
        surface.kind for surface in derived(storey("a", rectangle(10000, 6000), 2400, roof=roof)).surfaces
    }
    assert kinds == {"wall", "ceiling"}


@pytest.mark.parametrize(
    ("roof", "cubic_metres"),
    [  # footprint 10 × 6 m, eaves at 2 m, 45° unless said: plain geometry
        ({"form": "flat"}, 120),
        ({"form": "mono_pitch", "pitch_deg": 45, "low_wall": "south"}, 120 + 10 * 6 * 6 / 2),
        ({"form": "gable", "pitch_deg": 45}, 120 + 10 * 6 * 3 / 2),
        ({"form": "hip", "pitch_deg": 45}, 120 + 4 * 6 * 3 / 2 + 6 * 6 * 3 / 3),
        ({"form": "half_hip", "pitch_deg": 45, "half_hip_mm": 4000}, 120 + 90 - 2 * (2 * 1 / 2) * 1 / 3),
        ({"form": "gable", "pitch_deg": 45, "collar_mm": 3000}, 120 + 10 * (6 + 4) / 2),
        ({"form": "gambrel", "pitch_deg": 63.434948822922, "break_mm": 4000, "upper_pitch_deg": 45},
         120 + 10 * ((6 + 4) / 2 * 2 + 4 * 2 / 2)),
        ({"form": "gable", "rise": 1, "run": 1, "slopes": [{"wall": "north", "rise": 2, "run": 1}]}, 120 + 10 * 6 * 4 / 2),
    ],
)  # fmt: skip
def test_each_roof_form_encloses_its_volume(roof: dict[str, Any], cubic_metres: float) -> None:
    survey = derived(storey("a", rectangle(10000, 6000), 2000, roof=roof))
    assert float(survey.volume_m3) == pytest.approx(cubic_metres, rel=1e-9)


def test_gables_on_a_footprint_of_two_wings_are_named() -> None:
    plan = [[0, 0], [12000, 0], [12000, 5000], [5000, 5000], [5000, 11000], [0, 11000]]
    roof = {"form": "gable", "pitch_deg": 45, "gables": ["wall-2", "wall-5"]}
    found = surfaces(derived(storey("a", plan, 2400, roof=roof)))
    assert found["a-wall-2"].outline_mm == ((0, 0), (5000, 0), (5000, 2400), (2500, 4900), (0, 2400))
    assert found["a-wall-4-slope"].outline_mm == ((0, 0), (6000, 0), (8500, 3536), (0, 3536))


def test_a_dormer_opens_the_slope_and_adds_its_front_cheeks_and_ceiling() -> None:
    dormer = {
        "id": "d",
        "wall": "south",
        "from_left_mm": 3000,
        "width_mm": 2000,
        "height_mm": 2000,
        "set_back_mm": 500,
    }
    roof = {"form": "gable", "pitch_deg": 45}
    survey = derived(storey("a", rectangle(10000, 8000), 1000, roof=roof, dormers=[dormer]))
    found = surfaces(survey)
    # The slope goes all round it and is parted in the middle, so its front meets two surfaces below.
    assert found["a-d"].outline_mm == ((0, 1500), (1000, 1500), (2000, 1500), (2000, 2000), (0, 2000))
    assert {"a-south-slope-a", "a-south-slope-b"} <= set(found)
    assert found["a-d-ceiling"].outline_mm[2] == (2000, 500)
    assert len(found["a-d-left"].outline_mm) == len(found["a-d-right"].outline_mm) == 3
    plain = derive(building(storeys=[storey("a", rectangle(10000, 8000), 1000, roof=roof)]))
    assert survey.volume_m3 - plain.volume_m3 == Decimal("0.25")  # 2 m × ½ × 0.5 m × 0.5 m


def test_a_gabled_dormer_has_two_slopes_and_valleys() -> None:
    dormer = {"id": "d", "wall": "south", "from_left_mm": 3000, "width_mm": 2000, "height_mm": 1800, "roof": "gable", "pitch_deg": 30}  # fmt: skip
    roof = {"form": "gable", "pitch_deg": 45}
    survey = derived(storey("a", rectangle(10000, 8000), 1000, roof=roof, dormers=[dormer]))
    assert {"a-d-slope-left", "a-d-slope-right"} <= set(surfaces(survey))
    turned = [
        j.angle_deg
        for j in survey.junctions
        if {j.a.surface, j.b.surface} == {"a-d-slope-left", "a-south-slope"}
    ]
    assert turned
    assert all(angle is not None and angle > 180 for angle in turned)


def test_a_partition_that_interrupts_the_layer_parts_walls_slopes_and_ceiling() -> None:
    wall = {
        "id": "p",
        "from_mm": [4000, 0],
        "to_mm": [4000, 6000],
        "thickness_mm": 120,
        "layer": "interrupted",
    }
    survey = derived(storey("a", rectangle(10000, 6000), 2400, partitions=[wall]))
    found = surfaces(survey)
    assert found["a-ceiling-b"].outline_mm[1][0] == 3940
    assert found["a-south-a"].outline_mm[1][0] == 5940  # seen from inside, its left is east
    assert EdgeFinish(1, "timber") in found["a-south-a"].edges
    passed = derived(storey("a", rectangle(10000, 6000), 2400, partitions=[wall | {"layer": "passes"}]))
    assert len(passed.surfaces) == 5
    assert passed.envelope_area_m2 == survey.envelope_area_m2


def test_a_party_wall_without_membrane_is_what_its_neighbours_end_on() -> None:
    note = {"storey": "a", "wall": "east", "party": True, "lined": False, "finish": "masonry"}
    survey = derived(storey("a", rectangle(10000, 6000), 2400), walls=[note])
    assert "a-east" not in surfaces(survey)
    assert EdgeFinish(3, "masonry") in surfaces(survey)["a-south"].edges
    assert survey.envelope_area_m2 == Decimal("196.8")


def test_a_ceiling_round_a_smaller_storey_is_parted_so_that_it_has_no_hole() -> None:
    survey = derived(
        storey("g", rectangle(10000, 8000), 2400), storey("u", rectangle(4000, 3000, 3000, 2500), 2400)
    )
    assert {"g-ceiling-a", "g-ceiling-b"} <= set(surfaces(survey))


def test_an_extension_opens_into_the_house_and_the_wall_over_it_remains() -> None:
    plan = rectangle(8000, 6000)
    roof = {"form": "mono_pitch", "pitch_deg": 15, "low_wall": "east"}
    survey = derived(
        storey("g", plan, 2400),
        storey("u", plan, 2400),
        storey("ext", rectangle(3000, 3000, 8000, 1500), 2100, floor_at_mm=0, roof=roof),
    )
    found = surfaces(survey)
    assert found["g-east-a"].outline_mm == found["g-east-b"].outline_mm
    assert (1500, 204) in found["u-east"].outline_mm  # the lean-to meets it 204 mm over the upper floor
    assert "ext-west" not in found


def test_measured_ridge_lines_make_the_faces() -> None:
    lines = [{"from_mm": [3000, 3000], "to_mm": [9000, 3000], "from_height_mm": 4000, "to_height_mm": 4000}]
    for corner, end in (([0, 0], 3000), ([0, 6000], 3000), ([12000, 0], 9000), ([12000, 6000], 9000)):
        lines.append({"from_mm": corner, "to_mm": [end, 3000], "from_height_mm": 2400, "to_height_mm": 4000})
    survey = derived(storey("a", rectangle(12000, 6000), 2400, roof={"form": "hip", "lines": lines}))
    assert surfaces(survey)["a-east-slope"].outline_mm == ((0, 0), (6000, 0), (3000, 3400))
    assert float(survey.volume_m3) == pytest.approx(172.8 + 6 * 6 * 1.6 / 2 + 6 * 6 * 1.6 / 3, rel=1e-9)


def test_measured_lines_that_fold_a_face_are_refused() -> None:
    ridge = {"from_mm": [0, 3000], "to_mm": [12000, 3000], "from_height_mm": 4000, "to_height_mm": 4050}
    with pytest.raises(SurveyFaults, match="off flat"):
        derive(
            building(
                storeys=[storey("a", rectangle(12000, 6000), 2400, roof={"form": "gable", "lines": [ridge]})]
            )
        )


def test_openings_and_pipes_lie_where_they_were_measured() -> None:
    roof = {"form": "gable", "pitch_deg": 45, "collar_mm": 2400}
    place = {"width_mm": 800, "height_mm": 600}
    survey = derived(
        storey("a", rectangle(10000, 6000), 1000, roof=roof),
        openings=[
            {
                "id": "w",
                "kind": "window",
                "wall": "east",
                "from_left_mm": 2500,
                "from_floor_mm": 900,
                **place,
            },
            {
                "id": "r",
                "kind": "rooflight",
                "wall": "north",
                "from_left_mm": 1000,
                "from_eave_mm": 300,
                **place,
            },
            {
                "id": "h",
                "kind": "hatch",
                "wall": "south",
                "from_left_mm": 4000,
                "from_wall_mm": 2500,
                **place,
            },
        ],
        penetrations=[
            {
                "id": "p",
                "kind": "pipe",
                "wall": "north",
                "from_left_mm": 5000,
                "from_eave_mm": 700,
                "diameter_mm": 110,
            }
        ],
    )
    found = surfaces(survey)
    assert found["a-east"].openings[0].outline_mm == ((2500, 900), (3300, 900), (3300, 1500), (2500, 1500))
    assert found["a-north-slope"].openings[0].outline_mm[0] == (1000, 300)
    assert found["a-north-slope"].penetrations[0].at_mm == (5000, 700)
    hatch = found["a-ceiling"].openings[0].outline_mm
    # Facing south, left is east: 4 m from the east end is x 6 m; 2.5 m from the south wall is 1.1 m on to the ceiling.
    assert sorted(hatch) == [(4000, 1100), (4000, 1700), (4800, 1100), (4800, 1700)]


@pytest.mark.parametrize(
    ("change", "pointer", "words"),
    [
        ({"from_floor_mm": 2000}, "/openings/0", "2400 mm high"),
        ({"wall": "south-east"}, "/openings/0/wall", "there is no wall named"),
        ({"from_eave_mm": 200}, "/openings/0", "give one of"),
        ({"from_floor_mm": None, "from_eave_mm": 200}, "/openings/0", "carries no membrane"),
        ({"storey": "u"}, "/openings/0/wall", 'no storey named "u"'),
    ],
)
def test_an_opening_that_does_not_fit_is_refused_where_it_stands(
    change: dict[str, Any], pointer: str, words: str
) -> None:
    window = {"id": "w", "kind": "window", "wall": "south", "from_left_mm": 0, "from_floor_mm": 900, "width_mm": 900, "height_mm": 900}  # fmt: skip
    with pytest.raises(SurveyFaults, match=words) as refusal:
        derive(building(storeys=[storey("a", rectangle(8000, 6000), 2400)], openings=[window | change]))
    assert refusal.value.faults[0].pointer == pointer


def test_openings_that_overlap_and_pipes_without_a_size_point_at_what_was_placed() -> None:
    window = {"kind": "window", "wall": "south", "from_floor_mm": 900, "width_mm": 900, "height_mm": 900}
    pipe = {"kind": "pipe", "wall": "north", "from_left_mm": 500, "from_floor_mm": 500}
    with pytest.raises(SurveyFaults) as refusal:
        derive(
            building(
                storeys=[storey("a", rectangle(8000, 6000), 2400)],
                openings=[
                    window | {"id": "w1", "from_left_mm": 500},
                    window | {"id": "w2", "from_left_mm": 1000},
                ],
                penetrations=[pipe | {"id": "p1"}],
            )
        )
    pointers = [fault.pointer for fault in refusal.value.faults]
    assert any(pointer.startswith("/openings/") for pointer in pointers)
    assert any(pointer.startswith("/penetrations/0") for pointer in pointers)


def test_filling_in_a_building_twice_changes_nothing() -> None:
    once = with_building(demo_job())
    assert with_building(once) == once


def test_every_fault_of_a_building_is_told_at_once() -> None:
    bow = [[0, 0], [5000, 5000], [5000, 0], [0, 5000]]
    with pytest.raises(SurveyFaults) as refusal:
        derive(
            building(
                storeys=[storey("a", bow, 2400), storey("a", rectangle(4000, 4000), 2400, wall_names=["n"])],
                walls=[{"storey": "a", "wall": "n"}, {"storey": "a", "wall": "n"}],
            )
        )
    assert [fault.pointer for fault in refusal.value.faults] == [
        "/storeys/0/footprint_mm", "/storeys/1/wall_names", "/storeys/1/id", "/walls/1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("roof", "words"),
    [
        ({"form": "gable"}, "give the pitch"),
        ({"form": "mono_pitch", "pitch_deg": 20}, "name the wall at the low side"),
        ({"form": "gambrel", "pitch_deg": 60}, "a gambrel needs"),
        ({"form": "half_hip", "pitch_deg": 60}, "lean back"),
        ({"form": "hip", "pitch_deg": 60, "collar_mm": 2400}, "where the slopes start"),
        ({"form": "hip", "pitch_deg": 60, "gables": ["nort"]}, 'no wall named "nort"'),
        ({"form": "hip", "pitch_deg": 60, "rise": 1}, "rise together with run"),
        (
            {"form": "gable", "pitch_deg": 60, "gables": ["south", "east", "north", "west"]},
            "slopes never meet",
        ),
    ],
)
def test_a_roof_that_says_too_little_is_refused(roof: dict[str, Any], words: str) -> None:
    with pytest.raises(SurveyFaults, match=words) as refusal:
        derive(building(storeys=[storey("a", rectangle(8000, 6000), 2400, roof=roof)]))
    assert refusal.value.faults[0].pointer.startswith("/storeys/0/roof")


def test_storeys_that_reach_into_each_other_are_refused() -> None:
    plan = rectangle(8000, 6000)
    with pytest.raises(SurveyFaults, match="reaches into"):
        derive(building(storeys=[storey("g", plan, 2400), storey("u", plan, 2400, floor_at_mm=1000)]))


def demo_job() -> Job:
    return load(Job, json.loads(DEMO.read_text()))


def test_a_building_of_twelve_lines_plans_like_a_survey_made_by_hand() -> None:
    assert len(DEMO.read_text().splitlines()) <= 12
    job = with_building(demo_job())
    by_hand = load(Job, dump(dataclasses.replace(job, building=None)))
    books = (default_standard(), default_outputs(), default_price_book())
    assert plan_job(job, *books) == plan_job(by_hand, *books)
    assert len(measured(job)) == len(job.surfaces) >= 18


def test_a_surface_given_beside_the_building_replaces_the_derived_one() -> None:
    plain = with_building(demo_job())
    edited = next(surface for surface in plain.surfaces if surface.id == "ground-east")
    edited = dataclasses.replace(edited, room="kitchen")
    job = with_building(dataclasses.replace(demo_job(), surfaces=(edited,)))
    assert [surface.id for surface in job.surfaces] == [surface.id for surface in plain.surfaces]
    assert next(surface for surface in job.surfaces if surface.id == "ground-east").room == "kitchen"
    assert job.building == plain.building


def test_faults_of_a_building_point_into_the_job() -> None:
    job = dataclasses.replace(demo_job(), building=building(storeys=[storey("a", rectangle(8000, 6000), 0)]))
    with pytest.raises(SurveyFaults) as refusal:
        with_building(job)
    assert refusal.value.faults[0].pointer == "/building/storeys/0/height_mm"


def test_a_volume_given_by_hand_is_kept() -> None:
    assert with_building(dataclasses.replace(demo_job(), volume_m3=Decimal(300))).volume_m3 == Decimal(300)
    assert with_building(demo_job()).volume_m3 == Decimal("345.247")


def test_the_same_building_gives_the_same_survey_whatever_the_hash_seed() -> None:
    program = (
        "import json,sys,hashlib;from api_schema.job import Job;from api_schema.shape import load,dump;"
        "from workers.engine.building import with_building;"
        "print(hashlib.sha256(json.dumps(dump(with_building(load(Job,json.load(open(sys.argv[1])))))).encode()).hexdigest())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", program, str(DEMO)],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(DEMO.parents[2])},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(said) == 1


def test_a_building_reads_back_as_it_was_written() -> None:
    job = demo_job()
    assert job.building is not None
    assert load(Building, dump(job.building)) == job.building


def test_the_survey_report_says_what_was_measured() -> None:
    rows = {row.surface: row for row in measured(with_building(demo_job()))}
    south = rows["ground-south"]
    assert (south.width_mm, south.height_mm) == (10400, 2450)
    assert (south.gross_m2, south.net_m2) == (Decimal("25.48"), Decimal("23.32"))
    assert [(edge.length_mm, edge.ends_on) for edge in south.edges] == [
        (10400, "slab"), (2450, "ground-west"), (10400, "upper-south-rim"), (2450, "ground-east"),
    ]  # fmt: skip
    (window,) = south.openings
    assert (window.id, window.from_left_mm, window.up_mm, window.area_m2) == (
        "w1",
        1000,
        900,
        Decimal("2.16"),
    )
    assert load(MeasuredSurface, dump(south)) == south
