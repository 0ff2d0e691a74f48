"""The validity screen: what makes a fan test doubtful or void, each item with what to do about it.

Limits marked "memory" are ISO 9972:2015's as recalled; confirm them in the edition in force where you test.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from api_schema.pressure_result import CheckLevel, TestCheck
from api_schema.pressure_test import DirectionReadings, Method, PressureTestInput, TestDirection, zero_flow_of
from api_schema.said import Key, said
from workers.engine.pressure.direction import Corrected
from workers.engine.pressure.explain import explain
from workers.engine.pressure.words import finding, places, significant

FEWEST_STEPS = 5
WIDEST_STEP_PA = 13.0  # steps of about 10 Pa, with the slack of the lowest one
MOST_ZERO_FLOW_PA = 5.0
LEAST_N, MOST_N = 0.5, 1.0
LEAST_R_SQUARED = 0.98
MOST_WIND_M_S = 6.0
MOST_HEIGHT_KELVIN = 250.0
MOST_BETWEEN_DIRECTIONS = 0.10
STRAY_VOIDS = math.log(1.15)


@dataclass(frozen=True, slots=True)
class Range:
    """The pressures a method wants: its lowest step and slack, the zero-flow multiple, its highest step."""

    lowest_pa: float
    slack_pa: float
    zero_flow_times: float
    highest_pa: float
    short_voids: bool


# ISO 9972: 10 ± 3 Pa or five times the zero-flow, up to at least 50 Pa. The flow-weighted audits go from 50 down to
# 15 Pa as read, before the zero-flow is taken off.
RANGES: dict[Method, Range] = {
    "iso_9972": Range(10.0, 3.0, 5.0, 50.0, True),
    "flow_weighted": Range(15.0, 5.0, 0.0, 45.0, False),
}


def screen_direction(readings: DirectionReadings, found: Corrected, method: Method) -> Iterator[TestCheck]:
    """The checks of one direction, in the order a tester goes through them."""
    yield from _zero_flow(readings)
    yield from _steps(readings, found, method)
    yield from _signs(readings)
    yield from _fit(readings, found)
    yield from _strays(readings, found)


def screen_test(test: PressureTestInput, flows_at_50: Sequence[float]) -> Iterator[TestCheck]:
    """The checks of the whole test: weather, and how well two directions agree (flows at 50 Pa in m³/h)."""
    yield _wind(test.wind_m_s)
    yield _warm_air(test)
    if len(flows_at_50) == 2:
        apart = abs(flows_at_50[0] - flows_at_50[1]) / (sum(flows_at_50) / 2)
        far = apart > MOST_BETWEEN_DIRECTIONS
        yield finding(
            "directions_agree", "watch" if far else "met",
            said(f"test_check.directions_agree.{'far' if far else 'met'}", percent=places(100 * apart, 1)),
            provenance="common practice",
        )  # fmt: skip
    else:
        yield finding(
            "directions_agree", "not_checked", said("test_check.directions_agree.one"), provenance="common practice"
        )  # fmt: skip


def _wind(wind_m_s: float | None) -> TestCheck:
    if wind_m_s is None:
        return finding("wind", "not_checked", said("test_check.wind.not_noted"))
    strong = wind_m_s > MOST_WIND_M_S
    return finding(
        "wind", "watch" if strong else "met",
        said(
            f"test_check.wind.{'strong' if strong else 'met'}",
            wind_m_s=places(wind_m_s, 1), limit_m_s=places(MOST_WIND_M_S, 0),
        ),
    )  # fmt: skip


def _warm_air(test: PressureTestInput) -> TestCheck:
    height = test.building.height_m
    if height is None:
        return finding("warm_air", "not_checked", said("test_check.warm_air.no_height"))
    difference = max(abs(way.indoor_c - way.outdoor_c) for way in test.directions)
    strong = height * difference > MOST_HEIGHT_KELVIN
    return finding(
        "warm_air", "watch" if strong else "met",
        said(
            f"test_check.warm_air.{'strong' if strong else 'met'}",
            height_m=places(height, 1), difference_k=places(difference, 1),
            product_m_k=places(height * difference, 0), limit_m_k=places(MOST_HEIGHT_KELVIN, 0),
        ),
    )  # fmt: skip


def _zero_flow(readings: DirectionReadings) -> Iterator[TestCheck]:
    way = readings.direction
    if not readings.zero_flow_after_pa:
        yield finding("zero_flow_after", "not_met", said("test_check.zero_flow.not_read_after"), way)
    over: dict[str, Decimal | Key] = {}
    count = 0
    for when, values in (("before", readings.zero_flow_before_pa), ("after", readings.zero_flow_after_pa)):
        for side, those in (
            ("above", [value for value in values if value > 0]),
            ("below", [value for value in values if value < 0]),
        ):
            mean = sum(those) / len(those) if those else 0.0
            if abs(mean) > MOST_ZERO_FLOW_PA:
                count += 1
                over[f"mean_{count}"] = places(mean, 1)
                over[f"when_{count}"] = Key(f"test_check.zero_flow.{when}_{side}")
    limit = places(MOST_ZERO_FLOW_PA, 0)
    if over:
        sentence = said(f"test_check.zero_flow.over_{count}", **over, limit_pa=limit)
    else:
        sentence = said("test_check.zero_flow.met", zero_flow_pa=places(zero_flow_of(readings), 1), limit_pa=limit)  # fmt: skip
    yield finding("zero_flow", "not_met" if over else "met", sentence, way)


def _steps(readings: DirectionReadings, found: Corrected, method: Method) -> Iterator[TestCheck]:
    way = readings.direction
    count = len(found.induced_pa)
    few = count < FEWEST_STEPS
    yield finding(
        "steps", "not_met" if few else "met",
        said(f"test_check.steps.{'few' if few else 'met'}", count=count, least=FEWEST_STEPS), way,
    )  # fmt: skip
    ladder = sorted(found.induced_pa)
    wanted = RANGES[method]
    yield _lowest(ladder[0], found, wanted, way)
    short = ladder[-1] < wanted.highest_pa
    yield finding(
        "highest_pressure", ("not_met" if wanted.short_voids else "watch") if short else "met",
        said(
            f"test_check.highest_pressure.{'short' if short else 'met'}",
            highest_pa=places(ladder[-1], 1), wanted_pa=places(wanted.highest_pa, 0),
        ),
        way,
    )  # fmt: skip
    gap, above = max((upper - lower, lower) for lower, upper in pairwise(ladder))
    wide = gap > WIDEST_STEP_PA
    yield finding(
        "step_width", "watch" if wide else "met",
        said(f"test_check.step_width.{'wide' if wide else 'met'}", gap_pa=places(gap, 1), from_pa=places(above, 1)),
        way,
    )  # fmt: skip


def _lowest(lowest_pa: float, found: Corrected, wanted: Range, way: TestDirection) -> TestCheck:
    least = max(wanted.lowest_pa, wanted.zero_flow_times * abs(found.zero_flow_pa))
    level: CheckLevel = "met"
    key = "met"
    if lowest_pa < least - wanted.slack_pa:
        key, level = "low", "not_met" if wanted.short_voids else "watch"
    elif lowest_pa > least + wanted.slack_pa:
        key, level = "high", "watch"
    named = {"lowest_pa": places(lowest_pa, 1), "wanted_pa": places(least, 0)}
    if least > wanted.lowest_pa:
        sentence = said(f"test_check.lowest_pressure.{key}.zero_flow", **named, times=places(wanted.zero_flow_times, 0))  # fmt: skip
    else:
        sentence = said(f"test_check.lowest_pressure.{key}.plain", **named)
    return finding("lowest_pressure", level, sentence, way)


def _signs(readings: DirectionReadings) -> Iterator[TestCheck]:
    way = readings.direction
    wrong = [
        step
        for step, reading in enumerate(readings.readings, start=1)
        if (reading.pressure_pa > 0) == (way == "depressurisation") and reading.pressure_pa != 0
    ]
    if not wrong:
        yield finding("sign", "met", said(f"test_check.sign.met.{way}"), way)
    elif len(wrong) == len(readings.readings):
        yield finding("sign", "watch", said(f"test_check.sign.all_other.{way}"), way)
    else:
        for step in wrong:
            written = readings.readings[step - 1].pressure_pa
            yield finding(
                "sign", "watch",
                said(
                    f"test_check.sign.one_other.{way}", reading=step, pressure_pa=significant(written),
                    counts_pa=places(abs(written - zero_flow_of(readings)), 1),
                ),
                way, step,
            )  # fmt: skip


def _fit(readings: DirectionReadings, found: Corrected) -> Iterator[TestCheck]:
    n = found.line.slope
    inside = LEAST_N <= n <= MOST_N
    yield finding(
        "exponent", "met" if inside else "not_met",
        said(
            f"test_check.exponent.{'met' if inside else 'outside'}",
            n=places(n, 3), least=places(LEAST_N, 1), most=places(MOST_N, 1),
        ),
        readings.direction,
    )  # fmt: skip
    fits = found.plain.r_squared >= LEAST_R_SQUARED
    yield finding(
        "r_squared", "met" if fits else "not_met",
        said(
            f"test_check.r_squared.{'met' if fits else 'under'}",
            r_squared=places(found.plain.r_squared, 4), least=places(LEAST_R_SQUARED, 2),
        ),
        readings.direction,
    )  # fmt: skip


def _strays(readings: DirectionReadings, found: Corrected) -> Iterator[TestCheck]:
    if not found.strays:
        yield finding(
            "outlier", "met", said("test_check.outlier.none"), readings.direction, provenance="common practice"
        )  # fmt: skip
    for stray in found.strays:
        yield finding(
            "outlier",
            "not_met" if abs(stray.off) > STRAY_VOIDS else "watch",
            explain(stray, readings, found),
            readings.direction,
            stray.place + 1,
            "common practice",
        )
