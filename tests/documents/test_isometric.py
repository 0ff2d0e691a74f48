"""The isometric drawing: every surface is named once somewhere, and nothing hidden is drawn over what hides it."""

import json
import random
from pathlib import Path
from xml.etree import ElementTree

import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from api_schema.job import Job
from api_schema.problem import SurveyFaults
from api_schema.shape import load
from tests.engine.building.buildings import building, random_building, rectangle, storey
from workers.documents.isometric import draw_isometric
from workers.engine.building import DerivedSurvey, derive

SVG = "{http://www.w3.org/2000/svg}"
DEMO = Path(__file__).parents[2] / "deploy" / "demo" / "building.json"


def drawn(survey: DerivedSurvey) -> ElementTree.Element:
    svg = draw_isometric(survey.mesh.record(), survey.surfaces)
    assert svg == draw_isometric(survey.mesh.record(), survey.surfaces)
    return ElementTree.fromstring(svg)  # noqa: S314 - our own drawing


def words(svg: ElementTree.Element) -> str:
    return "\n".join(text.text or "" for text in svg.iter(f"{SVG}text"))


def faces(svg: ElementTree.Element) -> list[Polygon]:
    """What was filled as a face: the outlines with round joins, holes cut out."""
    shapes = []
    for path in svg.iter(f"{SVG}path"):
        if path.get("stroke-linejoin") == "round":
            rings = [
                Polygon([tuple(map(float, pair.split())) for pair in ring.strip("MZ").split("L")])
                for ring in (path.get("d") or "").split("Z")
                if ring
            ]
            shape = rings[0]
            for ring in rings[1:]:
                shape = shape.symmetric_difference(ring)
            shapes.append(shape)
    return shapes


def test_every_surface_of_the_demo_building_is_named() -> None:
    job = load(Job, json.loads(DEMO.read_text()))
    assert job.building is not None
    survey = derive(job.building)
    said = words(drawn(survey))
    for surface in survey.surfaces:
        assert surface.id in said


def test_a_floor_is_listed_as_not_seen_from_above() -> None:
    survey = derive(building(storeys=[storey("a", rectangle(8000, 6000), 2400, floor="lined")]))
    assert "Not seen from above: a-floor" in words(drawn(survey))


@pytest.mark.parametrize("seed", range(6))
def test_no_face_is_drawn_where_a_nearer_one_hides_it(seed: int) -> None:
    try:
        survey = derive(building(**random_building(random.Random(seed))))
    except SurveyFaults:
        pytest.skip("this description is refused")
    shapes = faces(drawn(survey))
    together = unary_union([shape.buffer(0) for shape in shapes])
    separate = sum(shape.area for shape in shapes)
    # Coordinates are written to 0.01 mm, so faces overlap by a hair along their borders.
    hair = 0.01 * sum(shape.length for shape in shapes)
    assert separate == pytest.approx(together.area, abs=hair)
