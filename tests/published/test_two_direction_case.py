"""A worked two-direction case that anyone can redo: inside 21 °C, outside 5 °C, ISO 9972 method.

Plain arithmetic after ISO 9972:2015 as recalled from memory (its equations stand in the engine's docstring); every
printed digit is checked, and the fit and the t value against scipy.
"""

import math

import pytest
from scipy import stats

from api_schema.pressure_test import BuildingSize, DirectionReadings, PressureTestInput, Reading
from workers.engine.pressure import analyse

OUT = {-62.1: 512, -56.4: 480, -50.9: 449, -45.2: 415, -40.0: 383, -34.6: 348, -29.3: 311, -24.1: 271, -18.7: 229, -13.4: 183}  # fmt: skip
IN = {61.0: 513, 55.2: 481, 49.6: 447, 44.3: 414, 38.9: 381, 33.5: 347, 28.2: 309, 22.9: 270, 17.6: 227, 12.3: 181}  # fmt: skip


def readings(direction, steps, before, after):
    return DirectionReadings(
        direction, tuple(Reading(*step) for step in steps.items()), (before,), 21.0, 5.0, zero_flow_after_pa=(after,)
    )  # fmt: skip


RESULT = analyse(
    PressureTestInput(
        reference="two directions",
        building=BuildingSize(volume_m3=412.0, envelope_area_m2=386.0, floor_area_m2=164.0),
        directions=(
            readings("depressurisation", OUT, -1.2, -0.8),
            readings("pressurisation", IN, -1.0, -1.0),
        ),
    )
)
FAN_OUT, FAN_IN = RESULT.directions


def printed(value, places):
    return f"{value:.{places}f}"


def test_depressurisation_agrees_to_every_printed_digit():
    assert printed(FAN_OUT.n.value, 6) == "0.647226"
    assert printed((FAN_OUT.n.high - FAN_OUT.n.low) / 2, 6) == "0.004079"
    assert printed(FAN_OUT.c_env_m3_h_pa_n.value, 5) == "33.78314"
    assert printed(FAN_OUT.r_squared, 7) == "0.9999402"
    assert printed(FAN_OUT.c_l_m3_h_pa_n.value, 5) == "34.41494"
    flow = FAN_OUT.figures.flow_50_m3_h
    assert (printed(flow.value, 3), printed(flow.low, 3), printed(flow.high, 3)) == (
        "432.876",
        "431.730",
        "434.026",
    )


def test_pressurisation_agrees_to_every_printed_digit():
    assert printed(FAN_IN.n.value, 6) == "0.676513"
    assert printed(FAN_IN.c_l_m3_h_pa_n.value, 5) == "33.25049"
    assert printed(FAN_IN.figures.flow_50_m3_h.value, 3) == "469.001"


def test_the_mean_of_both_directions_agrees_to_every_printed_digit():
    assert RESULT.is_mean
    assert printed(RESULT.figures.flow_50_m3_h.value, 3) == "450.939"
    assert RESULT.figures.n50_per_h.value == pytest.approx(450.9389137560755 / 412, rel=1e-11)
    assert RESULT.figures.q50_m3_h_m2.value == pytest.approx(450.9389137560755 / 386, rel=1e-11)
    assert RESULT.figures.w50_m3_h_m2.value == pytest.approx(450.9389137560755 / 164, rel=1e-11)


@pytest.mark.parametrize(("way", "steps", "factor", "air_k"), [
    (FAN_OUT, OUT, 278.15 / 294.15, 278.15), (FAN_IN, IN, 294.15 / 278.15, 294.15),
])  # fmt: skip
def test_fit_t_value_and_intervals_equal_scipys(way, steps, factor, air_k):
    x = [math.log(abs(pressure + 1.0)) for pressure in steps]
    line = stats.linregress(x, [math.log(flow * factor) for flow in steps.values()])
    t = stats.t.ppf(0.975, 8)
    to_standard = (293.15 / air_k) ** (1 - line.slope)
    assert way.student_t == pytest.approx(t, rel=1e-11)
    assert way.n.value == pytest.approx(line.slope, rel=1e-10)
    assert way.n.low == pytest.approx(line.slope - t * line.stderr, rel=1e-10)
    c = math.exp(line.intercept)
    assert way.c_env_m3_h_pa_n.low == pytest.approx(c * math.exp(-t * line.intercept_stderr), rel=1e-10)
    assert way.c_l_m3_h_pa_n.high == pytest.approx(
        c * to_standard * math.exp(t * line.intercept_stderr), rel=1e-10
    )
    assert way.r_squared == pytest.approx(line.rvalue**2, rel=1e-10)
    mean = sum(x) / 10
    spread = math.sqrt(0.9 * sum((each - mean) ** 2 for each in x) / 9 + (math.log(50) - mean) ** 2)
    flow = way.figures.flow_50_m3_h
    assert flow.high == pytest.approx(
        c * to_standard * 50**line.slope * math.exp(t * line.stderr * spread), rel=1e-10
    )


def test_areas_at_4_and_10_pascal_follow_the_standards_equation():
    c, n = FAN_OUT.c_l_m3_h_pa_n.value, FAN_OUT.n.value
    for pressure, area in ((4, FAN_OUT.figures.ela_4_cm2), (10, FAN_OUT.figures.ela_10_cm2)):
        assert area.value == pytest.approx(
            c / 3600 * (1.2041 / 2) ** 0.5 * pressure ** (n - 0.5) * 1e4, rel=1e-11
        )
        assert area.low < area.value < area.high


def test_the_case_passes_the_validity_screen_but_for_what_was_not_noted():
    assert RESULT.valid
    assert {check.code for check in RESULT.checks if check.level == "not_checked"} == {"wind", "warm_air"}
