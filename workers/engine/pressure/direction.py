"""One direction of a test: from readings to the fit, its intervals and the figures at 50, 10 and 4 Pa.

Method `iso_9972` (ISO 9972:2015, recalled from memory):
    induced pressure   Δp = |reading − zero-flow|, zero-flow the mean of the mean before and the mean after
    envelope flow      q = q_read · T_out/T_in in depressurisation, · T_in/T_out in pressurisation (kelvin)
    fit                ln q = ln C_env + n ln Δp, plain least squares, N points
    at 20 °C           C_L = C_env (ρ/ρ0)^(1−n), ρ that of the air going through the leaks: outside air in
                       depressurisation, inside air in pressurisation; at 101 325 Pa this is (T0/T)^(1−n)
    with viscosity     C0 = C_env (μ/μ0)^(2n−1) (ρ/ρ0)^(1−n), reported beside C_L (Roulet 2008, p. 66)
    figures            flow at 50 Pa q50 = C_L 50ⁿ; n50 = q50/V; by envelope q50/A_E; by floor q50/A_F
    areas              A = C_L/3600 · (ρ0/2)^½ · Δp^(n−½), discharge coefficient 1, ρ0 = 1.2041 kg/m³

Method `flow_weighted` (the Canadian energy audits, reproduced from published tests):
    induced pressure   as above
    envelope flow      q = q_read √(T_out/T_in) in depressurisation; √(T_in/T_out) in pressurisation by symmetry
    fit                the same line with weights q²
    at 20 °C           nothing further: C_L = C_env; the barometer is not used
    figures            as above; equivalent area at 10 Pa = 11.57 √1.2041 · C/3.6 · 10^(n−0.5) cm²

Intervals of both: two-sided 95 % Student t with N − 2 degrees: n ± t s_n, C · exp(± t s_lnC), and any flow or area
taken off the line at pressure Δp · exp(± t s_y(ln Δp)). They cover the scatter of the readings about the line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from api_schema.measured import Estimate
from api_schema.pressure_result import DirectionResult, Figures, TestPoint
from api_schema.pressure_test import BuildingSize, DirectionReadings, Method, zero_flow_of
from workers.engine.pressure import air
from workers.engine.pressure.line import Line, fit
from workers.engine.pressure.outliers import Outlier, outliers
from workers.engine.pressure.rounding import digits, estimate, scaled
from workers.engine.pressure.student import two_sided

SURE = 0.95
_LN_4, _LN_10, _LN_50 = math.log(4.0), math.log(10.0), math.log(50.0)


@dataclass(frozen=True, slots=True)
class Corrected:
    """The readings of one direction after correction, and the plain and chosen fits through their logarithms.

    induced_pa, flow_m3_h: as sent, corrected.  plain: unweighted fit.  line: the method's fit.
    """

    zero_flow_pa: float
    induced_pa: tuple[float, ...]
    flow_m3_h: tuple[float, ...]
    plain: Line
    line: Line
    strays: tuple[Outlier, ...]


def flow_factor(readings: DirectionReadings, method: Method) -> float:
    """What the flow read at the fan is multiplied by to be the flow through the envelope."""
    outward = (readings.outdoor_c + air.KELVIN) / (readings.indoor_c + air.KELVIN)
    ratio = outward if readings.direction == "depressurisation" else 1 / outward
    return ratio if method == "iso_9972" else math.sqrt(ratio)


def corrected(readings: DirectionReadings, method: Method) -> Corrected:
    """Zero-flow taken off, flows corrected, lines fitted, strays found."""
    zero = zero_flow_of(readings)
    factor = flow_factor(readings, method)
    induced = tuple(abs(reading.pressure_pa - zero) for reading in readings.readings)
    flow = tuple(reading.flow_m3_h * factor for reading in readings.readings)
    x = [math.log(pressure) for pressure in induced]
    y = [math.log(value) for value in flow]
    plain = fit(x, y)
    line = plain if method == "iso_9972" else fit(x, y, [value * value for value in flow])
    return Corrected(zero, induced, flow, plain, line, outliers(x, y))


def direction_result(
    readings: DirectionReadings, found: Corrected, method: Method, building: BuildingSize, barometer_pa: float
) -> DirectionResult:
    """The figures of one direction with their intervals."""
    line = found.line
    t = two_sided(SURE, line.freedom)
    n = line.slope
    c_env = math.exp(line.intercept)
    to_standard, standard_air = 1.0, None
    if method == "iso_9972":
        through_leaks = readings.outdoor_c if readings.direction == "depressurisation" else readings.indoor_c
        to_standard = air.density_ratio(through_leaks, barometer_pa) ** (1 - n)
        standard_air = digits(air.standard_coefficient(c_env, n, through_leaks, barometer_pa))
    c_spread = math.exp(t * line.intercept_sd)
    stray = {outlier.place for outlier in found.strays}
    return DirectionResult(
        direction=readings.direction,
        zero_flow_pa=digits(found.zero_flow_pa),
        n=estimate(n, n - t * line.slope_sd, n + t * line.slope_sd),
        c_env_m3_h_pa_n=estimate(c_env, c_env / c_spread, c_env * c_spread),
        c_l_m3_h_pa_n=estimate(
            c_env * to_standard, c_env * to_standard / c_spread, c_env * to_standard * c_spread
        ),
        r_squared=digits(line.r_squared),
        r_squared_plain=digits(found.plain.r_squared),
        degrees_of_freedom=line.freedom,
        student_t=digits(t),
        figures=_figures(line, t, c_env * to_standard, building),
        points=tuple(
            TestPoint(
                reading=place + 1,
                induced_pa=digits(pressure),
                flow_m3_h=digits(flow),
                line_m3_h=digits(math.exp(line.at(math.log(pressure)))),
                residual_share=digits(math.log(flow) - line.at(math.log(pressure))),
                outlier=place in stray,
            )
            for place, (pressure, flow) in enumerate(zip(found.induced_pa, found.flow_m3_h, strict=True))
        ),
        c_standard_air_m3_h_pa_n=standard_air,
    )


def _figures(line: Line, t: float, c_l: float, building: BuildingSize) -> Figures:
    def with_interval(value: float, ln_pressure: float) -> Estimate:
        spread = math.exp(t * line.sd_at(ln_pressure))
        return estimate(value, value / spread, value * spread)

    n = line.slope
    flow = with_interval(c_l * 50.0**n, _LN_50)
    return Figures(
        flow_50_m3_h=flow,
        ela_4_cm2=with_interval(air.leakage_area_cm2(c_l * 4.0**n, 4.0), _LN_4),
        ela_10_cm2=with_interval(air.leakage_area_cm2(c_l * 10.0**n, 10.0), _LN_10),
        eqla_10_cm2=with_interval(air.equivalent_area_cm2(c_l, n), _LN_10),
        n50_per_h=scaled(flow, building.volume_m3),
        q50_m3_h_m2=scaled(flow, building.envelope_area_m2),
        w50_m3_h_m2=scaled(flow, building.floor_area_m2),
    )
