"""Air: its density, what temperature does to a flow, and the hole that would pass it."""

from __future__ import annotations

import math

KELVIN = 273.15
STANDARD_K = 293.15  # 20 °C
STANDARD_PA = 101_325.0
STANDARD_DENSITY = 1.2041  # kg/m³ of dry air at those, ISO 9972:2015 (recalled)
REFERENCE_PA = 50.0


def density_ratio(temperature_c: float, barometer_pa: float) -> float:
    """Density of air at °C and Pa by that at 20 °C and 101 325 Pa (ideal gas, dry): (p/p0)·(T0/T)."""
    return barometer_pa / STANDARD_PA * STANDARD_K / (temperature_c + KELVIN)


def viscosity(temperature_c: float) -> float:
    """Dynamic viscosity of air in Pa·s: μ = 1.458e-6 T^1.5/(T + 110.4), T in K (Roulet 2008, p. 66)."""
    kelvin = temperature_c + KELVIN
    return float(1.458e-6 * kelvin**1.5 / (kelvin + 110.4))


def standard_coefficient(c: float, n: float, temperature_c: float, barometer_pa: float) -> float:
    """Flow coefficient at 20 °C and 101 325 Pa with viscosity counted, in the unit of `c`.

    C0 = C (μ/μ0)^(2n−1) (ρ/ρ0)^(1−n) (Roulet 2008, p. 66). ISO 9972 leaves the viscosity out.
    """
    thicker = viscosity(temperature_c) / viscosity(STANDARD_K - KELVIN)
    return float(c * thicker ** (2 * n - 1) * density_ratio(temperature_c, barometer_pa) ** (1 - n))


def leakage_area_cm2(flow_m3_h: float, pressure_pa: float, density: float = STANDARD_DENSITY) -> float:
    """Effective leakage area in cm² with a discharge coefficient of 1: A = q/3600 · √(ρ/(2Δp)) · 10⁴.

    With q = C_L Δpⁿ this is ISO 9972's C_L/3600 · (ρ0/2)^½ · Δp^(n−½).
    """
    return flow_m3_h / 3600 * math.sqrt(density / (2 * pressure_pa)) * 1e4


def equivalent_area_cm2(c_m3_h: float, n: float) -> float:
    """Equivalent leakage area at 10 Pa in cm² as the Canadian audits print it (discharge coefficient 0.611).

    11.57 · √1.2041 · C · 10^(n − 0.5), C in L/(s·Paⁿ). The exact factor 10/(0.611·√2) is 11.573; the rounded
    one is kept because the published results carry it.
    """
    return float(11.57 * math.sqrt(STANDARD_DENSITY) * c_m3_h / 3.6 * 10 ** (n - 0.5))


def flow_of_area_m3_h(area_cm2: float, at_pa: float, n: float, pressure_pa: float = REFERENCE_PA) -> float:
    """Flow in m³/h at `pressure_pa` through a leak of `area_cm2` stated at `at_pa` with a discharge coefficient of 1."""
    at_stated = area_cm2 / 1e4 * 3600 * math.sqrt(2 * at_pa / STANDARD_DENSITY)
    return float(at_stated * (pressure_pa / at_pa) ** n)
