"""The validity screen: what makes a fan test doubtful or void, each item with what to do about it.

Limits marked "memory" are ISO 9972:2015's as recalled; confirm them in the edition in force where you test.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from api_schema.pressure_result import TestCheck
from api_schema.pressure_test import DirectionReadings, Method, PressureTestInput, zero_flow_of
from workers.engine.pressure.direction import Corrected
from workers.engine.pressure.explain import explain

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
    if test.wind_m_s is None:
        yield TestCheck("wind", "not_checked", "The wind was not noted.")
    elif test.wind_m_s > MOST_WIND_M_S:
        yield TestCheck(
            "wind", "watch",
            f"Wind of {test.wind_m_s:.1f} m/s is over {MOST_WIND_M_S:.0f} m/s: gusts move the pressure; repeat on a calmer day.",
        )  # fmt: skip
    else:
        yield TestCheck("wind", "met", f"Wind of {test.wind_m_s:.1f} m/s, not over {MOST_WIND_M_S:.0f} m/s.")
    difference = max(abs(way.indoor_c - way.outdoor_c) for way in test.directions)
    height = test.building.height_m
    if height is None:
        yield TestCheck(
            "warm_air", "not_checked",
            "The building's height is not given, so the pull of warm air (height × temperature difference) is not checked.",
        )  # fmt: skip
    else:
        product = height * difference
        high = product > MOST_HEIGHT_KELVIN
        yield TestCheck(
            "warm_air",
            "watch" if high else "met",
            f"Height {height:.1f} m × temperature difference {difference:.1f} K = {product:.0f} m·K, {'over' if high else 'not over'} {MOST_HEIGHT_KELVIN:.0f} m·K"
            + (": the zero-flow pressure will hardly be steady; test when it is milder." if high else "."),
        )
    if len(flows_at_50) == 2:
        apart = abs(flows_at_50[0] - flows_at_50[1]) / (sum(flows_at_50) / 2)
        far = apart > MOST_BETWEEN_DIRECTIONS
        yield TestCheck(
            "directions_agree",
            "watch" if far else "met",
            f"The two directions differ by {100 * apart:.1f} % at 50 Pa"
            + (
                ": something opens one way only. Look for flaps, loose membrane, sashes that lift off their seals."
                if far
                else "."
            ),
            provenance="common practice",
        )
    else:
        yield TestCheck(
            "directions_agree", "not_checked",
            "One direction only; a leak that opens the other way is not seen. Both directions and their mean say more.",
            provenance="common practice",
        )  # fmt: skip


def _zero_flow(readings: DirectionReadings) -> Iterator[TestCheck]:
    check = partial(TestCheck, direction=readings.direction)
    if not readings.zero_flow_after_pa:
        yield check(
            "zero_flow_after", "not_met",
            "No zero-flow pressure was read after the steps; seal the fan and read it again.",
        )  # fmt: skip
    over: list[str] = []
    for when, values in (("before", readings.zero_flow_before_pa), ("after", readings.zero_flow_after_pa)):
        for sign, those in (
            ("mean above zero", [value for value in values if value > 0]),
            ("mean below zero", [value for value in values if value < 0]),
        ):
            mean = sum(those) / len(those) if those else 0.0
            if abs(mean) > MOST_ZERO_FLOW_PA:
                over.append(f"{mean:.1f} Pa {when} ({sign})")
    if over:
        yield check(
            "zero_flow", "not_met",
            f"Zero-flow pressure is {' and '.join(over)}; more than {MOST_ZERO_FLOW_PA:.0f} Pa either way voids the test. Wait for less wind or a smaller temperature difference.",
        )  # fmt: skip
    else:
        yield check(
            "zero_flow", "met", f"Zero-flow pressure {zero_flow_of(readings):.1f} Pa, within {MOST_ZERO_FLOW_PA:.0f} Pa."
        )  # fmt: skip


def _steps(readings: DirectionReadings, found: Corrected, method: Method) -> Iterator[TestCheck]:
    check = partial(TestCheck, direction=readings.direction)
    count = len(found.induced_pa)
    few = count < FEWEST_STEPS
    yield check(
        "steps", "not_met" if few else "met",
        f"{count} steps" + (f"; at least {FEWEST_STEPS} are wanted, 8 to 10 are better." if few else f", at least {FEWEST_STEPS} are wanted."),
    )  # fmt: skip
    ladder = sorted(found.induced_pa)
    wanted = RANGES[method]
    least = max(wanted.lowest_pa, wanted.zero_flow_times * abs(found.zero_flow_pa))
    low, high = ladder[0], ladder[-1]
    why = f"about {least:.0f} Pa is wanted"
    if least > wanted.lowest_pa:
        why += f" ({wanted.zero_flow_times:.0f} times the zero-flow pressure)"
    if low < least - wanted.slack_pa:
        yield check(
            "lowest_pressure", "not_met" if wanted.short_voids else "watch",
            f"The lowest step is {low:.1f} Pa; {why}: so low, wind and the zero-flow drown the reading. Leave the lowest steps out.",
        )  # fmt: skip
    elif low > least + wanted.slack_pa:
        yield check(
            "lowest_pressure", "watch",
            f"The lowest step is {low:.1f} Pa; {why}. Areas at 4 and 10 Pa are drawn out further beyond the readings.",
        )  # fmt: skip
    else:
        yield check("lowest_pressure", "met", f"The lowest step is {low:.1f} Pa; {why}.")
    if high < wanted.highest_pa:
        yield check(
            "highest_pressure", "not_met" if wanted.short_voids else "watch",
            f"The highest step is {high:.1f} Pa after the zero-flow is taken off; {wanted.highest_pa:.0f} Pa is wanted, or the flow at 50 Pa is drawn out beyond the readings. Go to 55 to 60 Pa.",
        )  # fmt: skip
    else:
        yield check(
            "highest_pressure", "met", f"The highest step is {high:.1f} Pa, at least {wanted.highest_pa:.0f} Pa."
        )  # fmt: skip
    gap, above = max((upper - lower, lower) for lower, upper in pairwise(ladder))
    wide = gap > WIDEST_STEP_PA
    yield check(
        "step_width", "watch" if wide else "met",
        f"The widest step is {gap:.1f} Pa, from {above:.1f} Pa" + ("; about 10 Pa or less is wanted." if wide else "."),
    )  # fmt: skip


def _signs(readings: DirectionReadings) -> Iterator[TestCheck]:
    outward = readings.direction == "depressurisation"
    right = "below" if outward else "above"
    wrong = [
        step
        for step, reading in enumerate(readings.readings, start=1)
        if (reading.pressure_pa > 0) == outward and reading.pressure_pa != 0
    ]
    check = partial(TestCheck, "sign", direction=readings.direction)
    if not wrong:
        yield check("met", f"All readings lie {right} zero, as they do in {readings.direction}.")
    elif len(wrong) == len(readings.readings):
        yield check(
            "watch",
            f"All readings have the other sign than {readings.direction} gives (inside less outside, {right} zero). If only the size was typed, check that the zero-flow readings carry the same sign habit, since they are taken off.",
        )
    else:
        for step in wrong:
            written = readings.readings[step - 1].pressure_pa
            yield check(
                "watch",
                f"Reading {step} is {written:g} Pa, the others lie {right} zero: a lost minus sign? As typed it counts as {abs(written - zero_flow_of(readings)):.1f} Pa.",
                reading=step,
            )


def _fit(readings: DirectionReadings, found: Corrected) -> Iterator[TestCheck]:
    check = partial(TestCheck, direction=readings.direction)
    n = found.line.slope
    inside = LEAST_N <= n <= MOST_N
    yield check(
        "exponent", "met" if inside else "not_met",
        f"Exponent n = {n:.3f}, {'within' if inside else 'outside'} {LEAST_N:.1f} to {MOST_N:.1f}"
        + ("." if inside else ": no leak behaves so. Something moved during the test, or a reading or the zero-flow is wrong."),
    )  # fmt: skip
    fits = found.plain.r_squared >= LEAST_R_SQUARED
    yield check(
        "r_squared", "met" if fits else "not_met",
        f"r² = {found.plain.r_squared:.4f} of the plain fit, {'at least' if fits else 'under'} {LEAST_R_SQUARED}"
        + ("." if fits else ": the readings do not lie on one line. See the readings named below."),
    )  # fmt: skip


def _strays(readings: DirectionReadings, found: Corrected) -> Iterator[TestCheck]:
    if not found.strays:
        yield TestCheck(
            "outlier", "met", "No reading stands apart from the others.", readings.direction,
            provenance="common practice",
        )  # fmt: skip
    for stray in found.strays:
        yield TestCheck(
            "outlier",
            "not_met" if abs(stray.off) > STRAY_VOIDS else "watch",
            explain(stray, readings, found),
            readings.direction,
            stray.place + 1,
            "common practice",
        )
