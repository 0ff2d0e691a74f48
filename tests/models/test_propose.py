"""What a small model proposes, and what it says it could not place."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.model_reading import ModelReading
from api_schema.shape import dump, load
from api_schema.surface import Surface
from api_schema.survey import find_faults
from tests.models.small_models import SmallModel, fzk_attic
from workers.engine.plan import plan_job
from workers.models.errors import ModelError
from workers.models.ifc_file import read_ifc
from workers.models.propose import propose


def reading(model: SmallModel, folder: Path) -> ModelReading:
    """Read in this process: these files are our own."""
    path = folder / "model.ifc"
    path.write_bytes(model.text)
    return propose(read_ifc(str(path)))


def surfaces(read: ModelReading) -> dict[str, Surface]:
    return {surface.id: surface for surface in read.surfaces}


def two_rooms() -> SmallModel:
    """Two rooms of 4 × 5 × 2.5 m with 120 mm between them, walls of 250 mm round both."""
    model = SmallModel()
    model.box_room("Left", (0, 0, 0), (4000, 5000, 2500))
    model.box_room("Right", (4120, 0, 0), (8120, 5000, 2500))
    model.box_element("IfcWall", "South", (-250, -250, 0), (8370, 0, 2500))
    model.box_element("IfcWall", "North", (-250, 5000, 0), (8370, 5250, 2500))
    model.box_element("IfcWall", "West", (-250, 0, 0), (0, 5000, 2500))
    model.box_element("IfcWall", "East", (8120, 0, 0), (8370, 5000, 2500))
    return model


def test_the_face_between_two_rooms_is_no_part_of_the_envelope(tmp_path: Path) -> None:
    model = two_rooms()
    middle = model.box_element("IfcWall", "Middle", (4000, 0, 0), (4120, 5000, 2500), external=False)
    model.opening(middle, "IfcDoor", "Inner door", (4000, 2000, 0), (4120, 2900, 2100))
    read = reading(model, tmp_path)
    walls = [surface.id for surface in read.surfaces if surface.kind == "wall"]
    assert sorted(walls) == [f"{room}-wall-{n}" for room in ("Left", "Right") for n in (1, 2, 3)]
    assert read.volume_m3 == 100
    assert read.floor_area_m2 == 40
    assert read.envelope_area_m2 == pytest.approx(2 * 2 * 20 + 2 * (2 * 10 + 12.5))
    assert any("1 doors and openings lie between two rooms" in note for note in read.notes)
    assert any("say what each ends on" in note for note in read.notes)
    assert read.unplaced == ()


def test_windows_and_doors_lie_where_they_are_seen_from_inside(tmp_path: Path) -> None:
    model = SmallModel()
    model.box_room("Room", (0, 0, 0), (4000, 5000, 2500))
    south = model.box_element("IfcWall", "South", (-250, -250, 0), (4250, 0, 2500))
    model.opening(south, "IfcWindow", "Window", (500, -250, 900), (1700, 0, 2100))
    model.opening(south, "IfcDoor", "Door", (2500, -250, 0), (3400, 0, 2100))
    found = [surface for surface in reading(model, tmp_path).surfaces if surface.openings]
    assert len(found) == 1
    window, door = found[0].openings
    # Facing south, x = 500 lies 3500 from the left.
    assert sorted(window.outline_mm) == [(2300, 900), (2300, 2100), (3500, 900), (3500, 2100)]
    assert sorted(door.outline_mm) == [(600, 0), (600, 2100), (1500, 0), (1500, 2100)]
    assert (window.kind, door.kind) == ("window", "door")


def test_a_strip_too_narrow_to_line_is_left_out_and_said(tmp_path: Path) -> None:
    model = SmallModel()
    model.box_room("Down", (0, 0, 0), (6000, 5000, 2500))
    model.box_room("Up", (0, 0, 2800), (5960, 5000, 5300))
    read = reading(model, tmp_path)
    assert not [surface for surface in read.surfaces if surface.id.startswith("Down-ceiling")]
    assert any("Scraps where partitions end, 0.20 m² in all" in note for note in read.notes)


def test_names_with_control_characters_are_made_printable(tmp_path: Path) -> None:
    model = SmallModel()
    model.box_room("Room\x07\n<b>", (0, 0, 0), (4000, 5000, 2500))
    read = reading(model, tmp_path)
    assert {surface.room for surface in read.surfaces} == {"Room  <b>"}
    assert load(ModelReading, dump(read)) == read


def test_a_floor_between_storeys_is_left_out_and_a_lower_roof_is_kept(tmp_path: Path) -> None:
    model = SmallModel()
    model.box_room("Down", (0, 0, 0), (6000, 5000, 2500))
    model.box_room("Up", (0, 0, 2800), (4000, 5000, 5300))
    found = surfaces(reading(model, tmp_path))
    assert found["Down-ceiling-1"].outline_mm == ((0, 0), (2000, 0), (2000, 5000), (0, 5000))
    assert "Up-floor-1" not in found


def test_what_does_not_fit_is_listed_by_name(tmp_path: Path) -> None:
    model = two_rooms()
    shed = model.box_element("IfcWall", "Shed wall", (20_000, 0, 0), (20_250, 5000, 2500))
    model.opening(shed, "IfcWindow", "Shed window", (20_000, 1000, 900), (20_250, 2000, 2000))
    west = next(one for one in model.file.by_type("IfcWall") if one.Name == "West")
    model.opening(west, None, "Bare hole", (-250, 1000, 900), (0, 2000, 2000))
    terrace = model.box_room("Terrace", (0, -3000, 0), (4000, -300, 2500))
    terrace.PredefinedType = "EXTERNAL"
    model.add("IfcSpace", "Shapeless", LongName="Shapeless")
    model.add("IfcPipeSegment", "Soil pipe")
    read = reading(model, tmp_path)
    assert [(one.kind, one.name) for one in read.unplaced] == [
        ("space", "Terrace"),
        ("space", "Shapeless"),
        ("window", "Shed window"),
        ("opening", "Bare hole void"),
        ("wall", "Shed wall"),
        ("pipe_or_cable", "1 pipes, ducts and cables"),
    ]
    assert all(one.reason for one in read.unplaced)


def test_a_courtyard_in_a_room_parts_its_floor_and_ceiling(tmp_path: Path) -> None:
    model = SmallModel()
    model.box_room("Ring", (0, 0, 0), (9000, 9000, 2500))
    profile = model.file.by_type("IfcArbitraryClosedProfileDef")[0]
    corners = [
        model.file.createIfcCartesianPoint(p)
        for p in ((3000.0, 3000.0), (6000.0, 3000.0), (6000.0, 6000.0), (3000.0, 6000.0))
    ]
    hole = model.file.createIfcPolyline([*corners, corners[0]])
    ring = model.file.createIfcArbitraryProfileDefWithVoids("AREA", None, profile.OuterCurve, [hole])
    model.file.by_type("IfcExtrudedAreaSolid")[0].SweptArea = ring
    read = reading(model, tmp_path)
    assert read.floor_area_m2 == 72
    assert [surface.kind for surface in read.surfaces].count("ceiling") == 2
    assert find_faults(Job(reference="ring", surfaces=read.surfaces, junctions=read.junctions)) == ()


def test_a_proposed_survey_plans_as_it_stands(tmp_path: Path) -> None:
    read = reading(fzk_attic(), tmp_path)
    job = Job(reference="attic", surfaces=read.surfaces, junctions=read.junctions, volume_m3=read.volume_m3)
    assert find_faults(job) == ()
    plan = plan_job(job, default_standard(), default_outputs(), default_price_book())
    assert len(plan.layout.surfaces) == 7
    edges = {(surface.id, edge) for surface in read.surfaces for edge in range(len(surface.outline_mm))}
    assert {(end.surface, end.edge) for j in read.junctions for end in (j.a, j.b)} == edges


def test_a_model_without_rooms_is_refused_with_what_to_do(tmp_path: Path) -> None:
    model = SmallModel()
    model.box_element("IfcWall", "South", (0, 0, 0), (4000, 250, 2500))
    with pytest.raises(ModelError, match="IfcSpace") as refusal:
        reading(model, tmp_path)
    assert refusal.value.reason == "no_spaces"


def test_the_same_model_proposes_the_same_survey(tmp_path: Path) -> None:
    model = two_rooms()
    assert dataclasses.asdict(reading(model, tmp_path)) == dataclasses.asdict(reading(model, tmp_path))
