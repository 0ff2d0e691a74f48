"""ASHRAE Standard 140, case 600, from its footprint, height and two windows.

Published: 8 × 6 × 2.7 m inside, two 3 × 2 m windows to the south. Floor 48.0 m², volume 129.6 m³, north wall 21.6 m²,
east and west walls 16.2 m² each, south wall net of windows 9.6 m². Envelope 171.6 m² is arithmetic.
"""

from decimal import Decimal

from api_schema.job import Job
from tests.engine.building.buildings import building, rectangle, storey
from tests.engine.building.closed import assert_closed
from workers.engine.building import derive, measured, with_building

WINDOW = {"kind": "window", "wall": "south", "from_floor_mm": 200, "width_mm": "3 m", "height_mm": "2 m"}
CASE_600 = building(
    storeys=[storey("case", rectangle(8000, 6000), 2700)],
    openings=[WINDOW | {"id": "w1", "from_left_mm": 500}, WINDOW | {"id": "w2", "from_left_mm": 4500}],
)


def test_case_600_closes_and_has_the_published_areas_and_volume() -> None:
    survey = derive(CASE_600)
    assert_closed(survey)
    assert survey.floor_area_m2 == Decimal("48.0")
    assert survey.volume_m3 == Decimal("129.6")
    assert survey.envelope_area_m2 == Decimal("171.6")
    rows = {row.surface: row for row in measured(with_building(Job(reference="case 600", building=CASE_600)))}
    assert rows["case-north"].net_m2 == Decimal("21.6")
    assert rows["case-east"].net_m2 == rows["case-west"].net_m2 == Decimal("16.2")
    assert rows["case-south"].net_m2 == Decimal("9.6")
