"""The attic of the sample house "FZK" (Karlsruhe Institute of Technology), from its dimensions.

Published: 11.4 × 9.4 m, pitch 30°, knee wall 0.673 m, ridge 3.387 m, gross floor 107.16 m², volume 217.532 m³. Slopes of
61.869 m² a side and gables of 19.082 m² follow by arithmetic. With exactly 30° the ridge lies at 3.3865 m, so the volume
differs from the published one by 1 in 10 000.
"""

import pytest

from api_schema.survey import doubled_area_mm2
from tests.engine.building.buildings import building, rectangle, storey
from tests.engine.building.closed import assert_closed
from tests.models.small_models import fzk_attic
from workers.engine.building import derive
from workers.models import read_model

WITHIN = 1e-3
ATTIC = building(
    storeys=[
        storey("attic", rectangle(11400, 9400), 673, floor="lined", roof={"form": "gable", "pitch_deg": 30})
    ]
)


def test_the_attic_has_the_published_volume_and_areas() -> None:
    survey = derive(ATTIC)
    assert_closed(survey)
    areas: dict[str, float] = {}
    for index, name in enumerate(survey.mesh.surfaces):
        assert name is not None
        areas[name] = areas.get(name, 0) + survey.mesh.face_area_m2(index)
    assert float(survey.volume_m3) == pytest.approx(217.532, rel=WITHIN)
    assert float(survey.floor_area_m2) == pytest.approx(107.16, rel=WITHIN)
    assert areas["attic-south-slope"] == pytest.approx(61.869, rel=WITHIN)
    assert areas["attic-north-slope"] == pytest.approx(61.869, rel=WITHIN)
    assert areas["attic-east"] == pytest.approx(19.082, rel=WITHIN)
    assert areas["attic-west"] == pytest.approx(19.082, rel=WITHIN)
    ridge = max(z for _, _, z in survey.mesh.corners_mm)
    assert ridge == pytest.approx(3387, rel=WITHIN)


@pytest.mark.parametrize("schema", ["IFC4", "IFC2X3"])
def test_the_attic_read_from_a_model_has_the_published_figures(schema: str) -> None:
    """The model is a small one of the same dimensions, made here; the original is not used."""
    read = read_model(fzk_attic(schema).text)
    assert read.schema == schema
    assert float(read.volume_m3) == pytest.approx(217.532, rel=WITHIN)
    assert float(read.floor_area_m2) == pytest.approx(107.16, rel=WITHIN)
    area = {surface.id: doubled_area_mm2(surface.outline_mm) / 2e6 for surface in read.surfaces}
    slopes = [area[surface.id] for surface in read.surfaces if surface.kind == "slope"]
    gables = [area[surface.id] for surface in read.surfaces if len(surface.outline_mm) == 5]
    assert slopes == pytest.approx([61.869, 61.869], rel=WITHIN)
    assert gables == pytest.approx([19.082, 19.082], rel=WITHIN)
    assert [opening.kind for surface in read.surfaces for opening in surface.openings] == ["window"]
    assert read.unplaced == ()
