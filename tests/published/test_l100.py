"""HERS BESTEST case L100 (ASHRAE Standard 140), a timber-stud house, from six numbers.

Published: 57 × 27 ft, ceiling at 8 ft, gable attic at 4:12. Floor 1 539 ft², volume 12 312 ft³, walls 456, 216, 456
and 216 ft², roof 811.1 ft² a side, gables 60.8 ft² each. The survey is in whole millimetres, so 8 ft is 2 438 mm
for 2 438.4, 2 parts in 10 000.
"""

from typing import Any

import pytest

from api_schema.building import Building
from api_schema.shape import load
from tests.engine.building.closed import assert_closed
from workers.engine.building import DerivedSurvey, derive

FOOT_M = 0.3048
LENGTH, WIDTH, CEILING, RISE, RUN, EAVE = "57 ft", "27 ft", "8 ft", 4, 12, 0
WITHIN = 2e-4


def house(layer: str) -> Building:
    """The house with its layer at the joists, or the attic alone with its layer at the rafters."""
    roof: dict[str, Any] = {"form": "gable", "rise": RISE, "run": RUN, "layer": layer}
    plan = [[0, 0], [LENGTH, 0], [LENGTH, WIDTH], [0, WIDTH]]
    height = CEILING if layer == "joists" else EAVE
    names = ["south", "east", "north", "west"]
    return load(
        Building,
        {
            "storeys": [
                {"id": "l100", "footprint_mm": plan, "wall_names": names, "height_mm": height, "roof": roof}
            ]
        },
    )


def square_feet(survey: DerivedSurvey) -> dict[str, float]:
    areas: dict[str, float] = {}
    for index, name in enumerate(survey.mesh.surfaces):
        if name is not None:
            areas[name] = areas.get(name, 0) + survey.mesh.face_area_m2(index) / FOOT_M**2
    return areas


def test_the_house_has_the_published_walls_floor_and_volume() -> None:
    survey = derive(house("joists"))
    assert_closed(survey)
    areas = square_feet(survey)
    for wall, published in (("south", 456), ("east", 216), ("north", 456), ("west", 216)):
        assert areas[f"l100-{wall}"] == pytest.approx(published, rel=WITHIN)
    assert areas["l100-ceiling"] == pytest.approx(1539, rel=WITHIN)
    assert float(survey.floor_area_m2) / FOOT_M**2 == pytest.approx(1539, rel=WITHIN)
    assert float(survey.volume_m3) / FOOT_M**3 == pytest.approx(12312, rel=WITHIN)


def test_the_attic_has_the_published_roof_and_gables() -> None:
    survey = derive(house("rafters"))
    assert_closed(survey)
    areas = square_feet(survey)
    for side in ("south", "north"):
        assert areas[f"l100-{side}-slope"] == pytest.approx(811.1, rel=WITHIN)
    for gable in ("east", "west"):
        assert areas[f"l100-{gable}"] == pytest.approx(60.8, rel=1e-3)  # 60.75, published to one decimal
