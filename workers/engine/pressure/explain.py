"""What may be wrong with a reading that stands apart: the slips of typing are tried one after the other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from api_schema.pressure_test import DirectionReadings
from workers.engine.pressure.direction import Corrected
from workers.engine.pressure.outliers import Outlier

_CLOSE = math.log(1.05)


def explain(stray: Outlier, readings: DirectionReadings, found: Corrected) -> str:
    """The reading, how far off it lies, and what to check, in words."""
    reading = readings.readings[stray.place]
    factor = found.flow_m3_h[stray.place] / reading.flow_m3_h
    expected = math.exp(stray.expected_ln_flow) / factor
    times = math.exp(stray.off)
    if 0.5 < times < 2:
        far = f"lies {abs(100 * (times - 1)):.1f} % {'above' if times > 1 else 'below'}"
    else:
        far = f"is {times:.2g} times"
    what = f"Reading {stray.place + 1} ({reading.pressure_pa:g} Pa, {_flow(reading.flow_m3_h)} m³/h)"
    slip = next(iter(_slips(stray, reading.pressure_pa, reading.flow_m3_h, found.zero_flow_pa)), "")
    return (
        f"{what} {far} what the other readings put there, about {_flow(expected)} m³/h. {slip}"
        "Check it against the site sheet; then think of a gust, a door opened, a fan range changed or the flow not yet steady."
    )


def _slips(stray: Outlier, pressure_pa: float, flow_m3_h: float, zero_flow_pa: float) -> Iterator[str]:
    for factor, words in ((10, "ten times too small"), (0.1, "ten times too large"), (100, "a hundred times too small"), (0.01, "a hundred times too large")):  # fmt: skip
        if abs(stray.off + math.log(factor)) < _CLOSE:
            yield f"The flow looks {words}: a decimal point that slipped, or a fan range read wrongly? "
    for other in _swapped(f"{flow_m3_h:g}"):
        if other > 0 and abs(stray.off + math.log(other / flow_m3_h)) < _CLOSE / 2:
            yield f"Have two digits changed places, {other:g} m³/h? "
    for other in (*_swapped(f"{pressure_pa:g}"), -pressure_pa, pressure_pa * 10, pressure_pa / 10):
        induced, typed = abs(other - zero_flow_pa), abs(pressure_pa - zero_flow_pa)
        if induced > 0.5 and abs(stray.off - stray.slope * math.log(induced / typed)) < _CLOSE / 2:
            yield f"Was the pressure {other:g} Pa? "


def _swapped(written: str) -> Iterator[float]:
    """`written` with two neighbouring digits changed over, for every such pair that differs."""
    for place in range(len(written) - 1):
        left, right = written[place], written[place + 1]
        if left.isdigit() and right.isdigit() and left != right:
            yield float(written[:place] + right + left + written[place + 2 :])


def _flow(value: float) -> str:
    return f"{value:.0f}" if value >= 1000 else f"{value:.4g}"
