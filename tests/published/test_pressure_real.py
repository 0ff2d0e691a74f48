"""Sixty real fan tests with published results.

Published and read: Natural Resources Canada, NRCan Housing Archetypes for Energy Analysis, existing-stock audit
files (2025), Open Government Licence – Canada. The data and its licence lie in `data/`. ACH50 and the equivalent
leakage area at 10 Pa are reproduced within 1e-4 relative by the flow-weighted method.
"""

import dataclasses
import json
from pathlib import Path

import pytest

from api_schema.pressure_test import BuildingSize, DirectionReadings, PressureTestInput, Reading
from workers.engine.pressure import analyse

TESTS = json.loads((Path(__file__).parent / "data" / "pressure_tests.json").read_text("utf-8"))["tests"]
WITHIN = 1e-4

# Nine of them with every number, so that this file can be checked against the source by eye:
# volume m³, outside °C, inside °C, zero-flow Pa, {reading Pa: flow L/s}, published ACH50 and cm².
WRITTEN_OUT = {
    "ERS-EX-14551": (845.6827, -11.1111, 24.4444, (-3.1, -3.4),
        {-50.0: 1078.3999, -45.1: 993.4493, -40.0: 927.3767, -35.3: 851.8651, -30.2: 757.4756, -25.0: 674.8848, -20.2: 571.0564, -15.1: 466.756},
        4.4618, 1568.5398),
    "ERS-EX-2712": (163.9262, 21.6667, 20.0, (0.2, 0.0),
        {-50.0: 417.2015, -45.0: 391.7164, -40.0: 361.5117, -35.0: 334.6107, -30.0: 306.2939, -25.0: 272.7856, -20.0: 237.3896, -15.0: 200.1057},
        9.1682, 624.4296),
    "ERS-EX-62038": (523.0121, 26.1111, 24.4444, (-0.4, -0.3),
        {-50.4: 648.9277, -45.1: 568.6967, -40.6: 519.1422, -35.0: 462.5085, -30.7: 417.2015, -25.1: 356.7923, -20.9: 303.4622, 14.9: 220.3995},
        4.3954, 643.903),
    "ERS-EX-31770": (441.1624, 28.8889, 22.7778, (0.7, 0.6),
        {15.4: 345.9375, 17.9: 390.7725, 23.5: 472.4194, 28.2: 531.8848, 36.2: 588.5184, 38.5: 620.6109, 46.4: 683.8519, 49.3: 705.0895},
        5.9502, 1176.2129),
    "ERS-EX-7884": (213.1721, -7.0, 18.0, (0.0, 0.0),
        {-49.6: 327.0596, -44.0: 304.8781, -40.6: 290.2477, -35.6: 269.01, -29.6: 242.109, -25.7: 221.3434, -20.7: 193.9704, -15.5: 163.2938},
        5.3124, 484.0697),
    "ERS-EX-33834": (403.1, 10.56, 21.11, (0.0, 0.0),
        {-50.0: 174.0, -45.0: 160.0, -40.0: 146.0, -35.0: 136.0, -30.0: 122.0, -25.0: 108.0, -20.0: 94.0, -15.0: 81.0},
        1.5043, 237.0492),
    "ERS-EX-8266": (472.9111, 1.1111, 20.0, (0.0, 0.0),
        {-50.4: 711.2248, -44.8: 673.941, -40.1: 609.7561, -34.6: 546.9871, -30.3: 508.7593, -25.5: 460.1487, -20.0: 378.5019, -15.1: 273.7295},
        5.2961, 875.334),
    "ERS-EX-63969": (520.7, 4.0, 22.0, (0.0, 0.0),
        {-49.2: 1359.0, -45.0: 1264.0, -39.2: 1175.0, -35.8: 1102.0, -29.1: 979.0, -25.4: 886.0, -19.4: 748.0, -14.6: 626.0},
        9.148, 1917.8596),
    "ERS-EX-11527": (152.0332, 17.7778, 20.0, (-0.4, -1.6),
        {-49.8: 569.1686, -45.0: 524.8055, -35.6: 433.2477, -30.8: 416.7296, -25.0: 372.3665, -20.1: 307.7097, -15.1: 253.4358},
        13.479, 824.5294),
}  # fmt: skip


def as_sent(test) -> PressureTestInput:
    return PressureTestInput(
        reference=test["id"],
        method="flow_weighted",
        building=BuildingSize(volume_m3=test["volume_m3"]),
        directions=(
            DirectionReadings(
                direction="depressurisation",
                readings=tuple(
                    Reading(each["pressure_pa"], each["flow_l_s"] * 3.6) for each in test["readings"]
                ),
                zero_flow_before_pa=(test["zero_flow_pa"][0],),
                zero_flow_after_pa=(test["zero_flow_pa"][1],),
                indoor_c=test["indoor_c"],
                outdoor_c=test["outdoor_c"],
            ),
        ),
    )


def named(test, code):
    return [check for check in analyse(as_sent(test)).checks if check.code == code and check.level != "met"]


def by_id(name):
    return next(test for test in TESTS if test["id"] == name)


def test_all_sixty_are_there():
    assert len({test["id"] for test in TESTS}) == 60


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test["id"])
def test_the_published_air_changes_and_area_are_reproduced(test):
    figures = analyse(as_sent(test)).figures
    assert figures.n50_per_h.value == pytest.approx(test["published"]["ach50_per_h"], rel=WITHIN)
    assert figures.eqla_10_cm2.value == pytest.approx(test["published"]["eqla10_cm2"], rel=WITHIN)


@pytest.mark.parametrize("name", WRITTEN_OUT)
def test_nine_written_out_in_full_agree_with_the_publication(name):
    volume_m3, outdoor_c, indoor_c, zero_flow_pa, readings, ach50, area_cm2 = WRITTEN_OUT[name]
    test = {
        "id": name, "volume_m3": volume_m3, "outdoor_c": outdoor_c, "indoor_c": indoor_c,
        "zero_flow_pa": zero_flow_pa,
        "readings": [{"pressure_pa": pressure, "flow_l_s": flow} for pressure, flow in readings.items()],
    }  # fmt: skip
    figures = analyse(as_sent(test)).figures
    assert figures.n50_per_h.value == pytest.approx(ach50, rel=WITHIN)
    assert figures.eqla_10_cm2.value == pytest.approx(area_cm2, rel=WITHIN)


def test_the_published_figures_lie_inside_the_plain_fits_interval_in_nearly_all_tests():
    """The two methods are different estimates of one thing; they part only where readings scatter."""
    inside = 0
    for test in TESTS:
        plain = dataclasses.replace(as_sent(test), method="iso_9972")
        n50 = analyse(plain).figures.n50_per_h
        inside += n50.low <= test["published"]["ach50_per_h"] <= n50.high
    assert inside >= 45


def test_a_reading_whose_minus_sign_was_lost_is_named():
    """ERS-EX-62038 has −50.4 … −20.9 Pa and then 14.9 Pa."""
    (check,) = named(by_id("ERS-EX-62038"), "sign")
    assert check.reading == 8
    assert "14.9 Pa" in check.message


@pytest.mark.parametrize("slip", [0.001, 0.01, 0.1, 10.0])
@pytest.mark.parametrize("test", TESTS, ids=lambda test: test["id"])
def test_a_mistyped_flow_in_any_real_test_is_named_and_voids_it(test, slip):
    place = len(test["readings"]) // 2
    readings = [dict(each) for each in test["readings"]]
    readings[place]["flow_l_s"] *= slip
    spoilt = {**test, "readings": readings}
    found = [check.reading for check in named(spoilt, "outlier") if check.level == "not_met"]
    assert place + 1 in found
    assert not analyse(as_sent(spoilt)).valid


# ERS-EX-18232 of the same archive, with the typing error in its fourth reading as published.
MISTYPED = {
    "id": "ERS-EX-18232", "volume_m3": 507.5513, "outdoor_c": 11.0, "indoor_c": 22.0, "zero_flow_pa": (-0.6, -0.9),
    "readings": [
        {"pressure_pa": pressure, "flow_l_s": flow}
        for pressure, flow in (
            (-50.0, 606.4525), (-45.0, 571.0564), (-40.0, 526.2214), (-35.2, 48.6106),
            (-29.8, 443.6306), (-25.2, 405.8748), (-20.1, 344.5216), (-15.7, 283.1685),
        )
    ],
}  # fmt: skip


def test_the_published_figures_of_the_mistyped_case_are_those_with_its_error_in():
    figures = analyse(as_sent(MISTYPED)).figures
    assert figures.n50_per_h.value == pytest.approx(4.2615, rel=WITHIN)
    assert figures.eqla_10_cm2.value == pytest.approx(899.5856, rel=WITHIN)


def test_the_mistyped_reading_of_ers_ex_18232_is_named_though_the_weighted_fit_hides_it():
    result = analyse(as_sent(MISTYPED))
    (way,) = result.directions
    assert way.r_squared > 0.8
    assert f"{way.r_squared_plain:.2f}" == "0.03"
    (stray,) = [check for check in result.checks if check.code == "outlier"]
    assert (stray.reading, stray.level) == (4, "not_met")
    assert "ten times too small" in stray.message
    assert not result.valid
    assert [point.reading for point in way.points if point.outlier] == [4]


def test_the_weighted_fit_hides_a_flow_typed_too_small_and_the_screen_does_not():
    """The case the plain r² betrays: weighted by flow squared, a tiny flow counts for nothing."""
    test = by_id("ERS-EX-14551")
    readings = [dict(each) for each in test["readings"]]
    readings[1]["flow_l_s"] = 9.934493  # for 993.4493
    result = analyse(as_sent({**test, "readings": readings}))
    (way,) = result.directions
    assert way.r_squared > 0.98
    assert way.r_squared_plain < 0.05
    (check,) = [check for check in result.checks if check.code == "outlier"]
    assert check.reading == 2
    assert "a hundred times too small" in check.message
