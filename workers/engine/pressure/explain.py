"""What may be wrong with a reading that stands apart: the slips of typing are tried one after the other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal

from api_schema.pressure_test import DirectionReadings
from api_schema.said import Said, said
from workers.engine.pressure.direction import Corrected
from workers.engine.pressure.outliers import Outlier
from workers.engine.pressure.words import places, significant

_CLOSE = math.log(1.05)


def explain(stray: Outlier, readings: DirectionReadings, found: Corrected) -> Said:
    """The reading, how far off it lies, and what to check."""
    reading = readings.readings[stray.place]
    factor = found.flow_m3_h[stray.place] / reading.flow_m3_h
    expected = math.exp(stray.expected_ln_flow) / factor
    times = math.exp(stray.off)
    named: dict[str, Decimal | str | int] = {
        "reading": stray.place + 1,
        "pressure_pa": significant(reading.pressure_pa),
        "flow_m3_h": _flow(reading.flow_m3_h),
        "expected_m3_h": _flow(expected),
    }
    if 0.5 < times < 2:
        far = "above" if times > 1 else "below"
        named["percent"] = places(abs(100 * (times - 1)), 1)
    else:
        far = "times"
        named["times"] = significant(times, 2)
    slips = _slips(stray, reading.pressure_pa, reading.flow_m3_h, found.zero_flow_pa)
    slip, meant = next(slips, ("unknown", None))
    if meant is not None:
        named["meant"] = significant(meant)
    return said(f"test_check.outlier.{far}.{slip}", **named)


def _slips(
    stray: Outlier, pressure_pa: float, flow_m3_h: float, zero_flow_pa: float
) -> Iterator[tuple[str, float | None]]:
    """The slips that would explain it, by the end of their key, with what was meant where that is known."""
    for factor, slip in ((10, "ten_small"), (0.1, "ten_large"), (100, "hundred_small"), (0.01, "hundred_large")):  # fmt: skip
        if abs(stray.off + math.log(factor)) < _CLOSE:
            yield slip, None
    for other in _swapped(f"{flow_m3_h:g}"):
        if other > 0 and abs(stray.off + math.log(other / flow_m3_h)) < _CLOSE / 2:
            yield "digits", other
    for other in (*_swapped(f"{pressure_pa:g}"), -pressure_pa, pressure_pa * 10, pressure_pa / 10):
        induced, typed = abs(other - zero_flow_pa), abs(pressure_pa - zero_flow_pa)
        if induced > 0.5 and abs(stray.off - stray.slope * math.log(induced / typed)) < _CLOSE / 2:
            yield "pressure", other


def _swapped(written: str) -> Iterator[float]:
    """`written` with two neighbouring digits changed over, for every such pair that differs."""
    for place in range(len(written) - 1):
        left, right = written[place], written[place + 1]
        if left.isdigit() and right.isdigit() and left != right:
            yield float(written[:place] + right + left + written[place + 2 :])


def _flow(value: float) -> Decimal | str:
    return places(value, 0) if value >= 1000 else significant(value, 4)
