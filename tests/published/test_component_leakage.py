"""Component leakage to start from, at 4 Pa with a discharge coefficient of 1.

Published: NIST CONTAM component library, tight / typical: ceiling–wall joint 0.5 / 1.5 cm² by m, floor–wall 0.8 / 4
by m, attic hatch 18 / 30, exterior door 12 / 21. Recalled from memory: legacy ASHRAE table, pipe or wire unsealed 6
(2–24), sealed 2 (1–2) each; wall with continuous barrier 0.15 cm² by m². Plain arithmetic: 1 cm² passes about
4.79 m³/h at 50 Pa for n 0.65.
"""

import pytest

from api_schema.leakage import LEAK_DETAILS
from api_schema.leakage_defaults import default_leakage_values, target_presets
from workers.engine.pressure.air import flow_of_area_m3_h

VALUES = {value.detail: value for value in default_leakage_values().values}


@pytest.mark.parametrize(("detail", "unit", "tight", "typical"), [
    ("ceiling_corner", "m", 0.5, 1.5), ("slab_edge", "m", 0.8, 4.0), ("hatch", "piece", 18.0, 30.0), ("door", "piece", 12.0, 21.0),
])  # fmt: skip
def test_published_components_start_from_tight_and_reach_up_to_typical(detail, unit, tight, typical):
    value = VALUES[detail]
    assert (value.unit, value.likely_cm2, value.high_cm2, value.provenance) == (
        unit,
        tight,
        typical,
        "published",
    )
    assert "CONTAM" in value.note


def test_recalled_components_say_that_they_are_recalled():
    sealed, forgotten, face = VALUES["collar"], VALUES["forgotten_penetration"], VALUES["membrane_face"]
    assert (sealed.low_cm2, sealed.likely_cm2, sealed.high_cm2) == (1.0, 2.0, 2.0)
    assert (forgotten.low_cm2, forgotten.likely_cm2, forgotten.high_cm2) == (2.0, 6.0, 24.0)
    assert face.likely_cm2 == 0.15
    assert {sealed.provenance, forgotten.provenance, face.provenance} == {"memory"}


def test_every_detail_has_one_value_in_order_with_its_source():
    assert tuple(value.detail for value in default_leakage_values().values) == LEAK_DETAILS
    for value in VALUES.values():
        assert 0 < value.low_cm2 <= value.likely_cm2 <= value.high_cm2
        assert value.note


def test_one_square_centimetre_passes_4_79_cubic_metres_an_hour_at_50_pa():
    assert f"{flow_of_area_m3_h(1.0, 4.0, 0.65):.2f}" == "4.79"


def test_the_targets_to_choose_from_say_where_they_come_from_and_to_check_the_edition():
    """Published: DIN 4108-7, IECC 2021, England AD L 2021 limit. Recalled: the rest."""
    presets = {preset.name: preset for preset in target_presets()}
    by_volume = {
        name: float(each.target.n50_per_h) for name, each in presets.items() if each.target.n50_per_h
    }
    by_area = {
        name: float(each.target.q50_m3_h_m2) for name, each in presets.items() if each.target.q50_m3_h_m2
    }
    assert by_volume == {
        "passive-house": 0.6, "passive-house-retrofit": 1.0, "r-2000": 1.5, "din-4108-7": 3.0,
        "din-4108-7-ventilated": 1.5, "iecc-2021-zones-1-2": 5.0, "iecc-2021-zones-3-8": 3.0,
        "spain-db-he1-compact-low": 6.0, "spain-db-he1-compact-high": 3.0,
    }  # fmt: skip
    assert by_area == {"england-ad-l-limit": 8.0, "england-ad-l-notional": 5.0, "ireland-tgd-l": 5.0}
    assert {preset.provenance for preset in presets.values()} == {"published", "memory"}
    assert all("edition in force" in preset.note for preset in presets.values())
