"""Areas and coefficients of a leak under other conditions.

Published and read: ASHRAE Fundamentals, ventilation and infiltration chapter, A2 = A1 (C_D1/C_D2)(Δp2/Δp1)^(n−0.5);
NBSIR 81-2214, door example: 0.013 m³/s at 25 Pa, n 0.5, ρ 1.204 → 20.17 cm² at 4 Pa, C_D 1; Roulet 2008, p. 66:
C0 = C (μ/μ0)^(2n−1) (ρ/ρ0)^(1−n), μ = 1.458e-6 T^1.5/(T + 110.4).
"""

import math

import pytest

from api_schema.pressure_test import DirectionReadings, PressureTestInput, Reading
from workers.engine.pressure import air, analyse


def test_the_door_of_the_published_example_has_twenty_square_centimetres():
    at_4_pa_m3_h = 0.013 * 3600 * (4 / 25) ** 0.5
    assert f"{air.leakage_area_cm2(at_4_pa_m3_h, 4.0, 1.204):.2f}" == "20.17"


def test_areas_of_one_leak_at_two_pressures_and_coefficients_stand_in_the_published_ratio():
    c, n = 33.8, 0.65
    at_4, at_10 = (air.leakage_area_cm2(c * pa**n, pa) for pa in (4.0, 10.0))
    assert at_10 == pytest.approx(at_4 * (10 / 4) ** (n - 0.5), rel=1e-12)
    assert air.equivalent_area_cm2(c, n) == pytest.approx(at_4 / 0.611 * (10 / 4) ** (n - 0.5), rel=3e-4)


def test_the_canadian_area_is_the_area_at_10_pa_through_a_sharp_hole():
    """11.57 is 10/(0.611·√2) = 11.573 rounded, so the two agree within 3 in 10 000."""
    c, n = 33.8, 0.647
    sharp = air.leakage_area_cm2(c * 10**n, 10.0) / 0.611
    assert air.equivalent_area_cm2(c, n) == pytest.approx(sharp, rel=3e-4)


def test_viscosity_follows_the_published_formula():
    assert air.viscosity(20.0) == pytest.approx(1.458e-6 * 293.15**1.5 / 403.55, rel=1e-12)
    assert air.viscosity(20.0) == pytest.approx(1.81e-5, rel=0.005)


def test_a_coefficient_at_standard_air_stays_as_it_is():
    assert air.standard_coefficient(33.8, 0.65, 20.0, 101_325.0) == pytest.approx(33.8, rel=1e-12)


def test_cold_air_is_corrected_by_viscosity_and_density():
    c, n, kelvin = 33.8, 0.65, 268.15
    thicker = (1.458e-6 * kelvin**1.5 / (kelvin + 110.4)) / (1.458e-6 * 293.15**1.5 / 403.55)
    denser = 293.15 / kelvin * 98_000 / 101_325
    expected = c * thicker**0.3 * denser**0.35
    assert air.standard_coefficient(c, n, kelvin - 273.15, 98_000.0) == pytest.approx(expected, rel=1e-12)


def test_one_square_centimetre_passes_4_79_cubic_metres_an_hour_at_50_pa():
    """Plain arithmetic: A = 1 cm² at 4 Pa, C_D 1, n 0.65."""
    assert f"{air.flow_of_area_m3_h(1.0, 4.0, 0.65):.2f}" == "4.79"
    assert air.leakage_area_cm2(air.flow_of_area_m3_h(1.0, 4.0, 0.65, 4.0), 4.0) == pytest.approx(1.0)
    assert math.isclose(air.flow_of_area_m3_h(2.0, 4.0, 0.65), 2 * air.flow_of_area_m3_h(1.0, 4.0, 0.65))


def test_an_analysis_reports_the_coefficient_with_viscosity_beside_the_standards_own():
    steps = tuple(Reading(-pressure, 34.0 * pressure**0.65) for pressure in (60.0, 45.0, 30.0, 20.0, 12.0))
    cold = DirectionReadings("depressurisation", steps, (0.0,), 20.0, -5.0, zero_flow_after_pa=(0.0,))
    (way,) = analyse(PressureTestInput("cold day", (cold,))).directions
    thinner = air.viscosity(-5.0) / air.viscosity(20.0)
    expected = way.c_l_m3_h_pa_n.value * thinner ** (2 * way.n.value - 1)
    assert way.c_standard_air_m3_h_pa_n == pytest.approx(expected, rel=1e-9)
    (weighted,) = analyse(PressureTestInput("cold day", (cold,), "flow_weighted")).directions
    assert weighted.c_standard_air_m3_h_pa_n is None
