"""The regression against NIST's certified values.

Published and read: NIST Statistical Reference Datasets, linear regression, "Norris" (36 observations, ozone
monitors): slope 1.00211681802045 (sd 0.429796848199937E-03), intercept −0.262323073774029 (sd 0.232818234301152),
R² 0.999993745883712. x and y are divided by 1000 and raised to e, so that the logarithms of a fan test give the set
back; slope and its sd are unchanged, the intercept and its sd are divided by 1000.
"""

import math

import pytest

from api_schema.pressure_test import DirectionReadings, PressureTestInput, Reading
from workers.engine.pressure import analyse
from workers.engine.pressure.line import fit

NINE_DIGITS = 5e-10
SLOPE, SLOPE_SD = 1.00211681802045, 0.429796848199937e-03
INTERCEPT, INTERCEPT_SD = -0.262323073774029, 0.232818234301152
R_SQUARED = 0.999993745883712
Y_X = (
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
)  # fmt: skip


def test_the_line_agrees_to_nine_digits():
    line = fit([x for _, x in Y_X], [y for y, _ in Y_X])
    assert line.slope == pytest.approx(SLOPE, rel=NINE_DIGITS)
    assert line.slope_sd == pytest.approx(SLOPE_SD, rel=NINE_DIGITS)
    assert line.intercept == pytest.approx(INTERCEPT, rel=NINE_DIGITS)
    assert line.intercept_sd == pytest.approx(INTERCEPT_SD, rel=NINE_DIGITS)
    assert line.r_squared == pytest.approx(R_SQUARED, rel=NINE_DIGITS)


def test_as_a_fan_test_it_agrees_to_nine_digits():
    """20 °C on both sides and no zero-flow, so that nothing is corrected."""
    readings = tuple(Reading(-math.exp(x / 1000), math.exp(y / 1000)) for y, x in Y_X)
    (way,) = analyse(
        PressureTestInput(
            reference="Norris",
            directions=(
                DirectionReadings(
                    "depressurisation", readings, (0.0,), 20.0, 20.0, zero_flow_after_pa=(0.0,)
                ),
            ),
        )
    ).directions
    t = way.student_t
    assert way.degrees_of_freedom == 34
    assert way.n.value == pytest.approx(SLOPE, rel=NINE_DIGITS)
    assert (way.n.high - way.n.low) / (2 * t) == pytest.approx(SLOPE_SD, rel=1e-8)
    assert math.log(way.c_env_m3_h_pa_n.value) * 1000 == pytest.approx(INTERCEPT, rel=2e-8)
    spread = math.log(way.c_env_m3_h_pa_n.high / way.c_env_m3_h_pa_n.low) / (2 * t)
    assert spread * 1000 == pytest.approx(INTERCEPT_SD, rel=2e-8)
    assert way.r_squared == pytest.approx(R_SQUARED, rel=NINE_DIGITS)
    assert way.r_squared_plain == way.r_squared
