"""The one function that walks the whole way from readings to a result."""

from __future__ import annotations

import dataclasses
import math

from api_schema.engine_words import in_english
from api_schema.job import Job
from api_schema.measured import Estimate
from api_schema.pressure_result import DirectionResult, Figures, PressureTestResult
from api_schema.pressure_test import PressureTestInput, faults_in_test
from api_schema.problem import SurveyFaults
from api_schema.said import said
from workers.engine.pressure import air
from workers.engine.pressure.direction import corrected, direction_result
from workers.engine.pressure.rounding import estimate
from workers.engine.pressure.screen import screen_direction, screen_test
from workers.engine.pressure.verdict import against_target
from workers.engine.pressure.words import finding


def analyse(test: PressureTestInput) -> PressureTestResult:
    """What the readings of a fan test mean. The equations stand in `workers.engine.pressure.direction`.

    Raises:
        SurveyFaults: if the readings cannot be analysed at all; it names every fault.
    """
    faults = faults_in_test(test)
    if faults:
        raise SurveyFaults(faults)
    barometer = test.barometer_pa if test.barometer_pa is not None else air.STANDARD_PA
    ways = [(readings, corrected(readings, test.method)) for readings in test.directions]
    results = tuple(
        direction_result(readings, found, test.method, test.building, barometer) for readings, found in ways
    )
    checks = tuple(
        check for readings, found in ways for check in screen_direction(readings, found, test.method)
    ) + tuple(screen_test(test, [result.figures.flow_50_m3_h.value for result in results]))
    figures = results[0].figures if len(results) == 1 else _mean(results)
    target = against_target(test.target, figures)
    if test.target is not None and target is None:
        checks += (finding("target", "not_checked", said("test_check.target.no_size")),)
    method, interval = said(f"test_method.{test.method}"), said("test_interval.scatter")
    return PressureTestResult(
        reference=test.reference,
        method=test.method,
        method_words=in_english(method),
        directions=results,
        figures=figures,
        is_mean=len(results) > 1,
        checks=checks,
        valid=all(check.level != "not_met" for check in checks),
        interval_words=in_english(interval),
        target=target,
        method_said=method,
        interval_said=interval,
    )


def with_job(test: PressureTestInput, job: Job) -> PressureTestInput:
    """The test with the job's volume and target where it does not bring its own."""
    building = test.building
    if building.volume_m3 is None and job.volume_m3 is not None:
        building = dataclasses.replace(building, volume_m3=float(job.volume_m3))
    return dataclasses.replace(test, building=building, target=test.target or job.target)


def _mean(results: tuple[DirectionResult, ...]) -> Figures:
    """The mean of both directions, figure by figure."""
    both = [result.figures for result in results]
    merged = {
        name.name: _mean_estimate([getattr(figures, name.name) for figures in both])
        for name in dataclasses.fields(Figures)
    }
    return Figures(**merged)  # type: ignore[arg-type]


def _mean_estimate(estimates: list[Estimate | None]) -> Estimate | None:
    """Mean of independent estimates; each side's half-width is √(Σ half-width²)/count."""
    known = [each for each in estimates if each is not None]
    if len(known) < len(estimates):
        return None
    value = sum(each.value for each in known) / len(known)
    below = math.hypot(*(each.value - each.low for each in known)) / len(known)
    above = math.hypot(*(each.high - each.value for each in known)) / len(known)
    return estimate(value, value - below, value + above)
