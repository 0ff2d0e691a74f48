"""The result beside the target, said with care where the interval reaches over it."""

from __future__ import annotations

from typing import Literal

from api_schema.engine_words import in_english
from api_schema.job import Target
from api_schema.measured import Estimate
from api_schema.pressure_result import Figures, Finding, TargetFinding
from api_schema.said import Key, said
from workers.engine.pressure.words import places, significant


def against_target(target: Target | None, figures: Figures) -> TargetFinding | None:
    """What the figures say about the target; nothing where there is no target or its size is unknown."""
    if target is None:
        return None
    if target.n50_per_h is not None and figures.n50_per_h is not None:
        return _finding("n50_per_h", float(target.n50_per_h), figures.n50_per_h)
    if target.q50_m3_h_m2 is not None and figures.q50_m3_h_m2 is not None:
        return _finding("q50_m3_h_m2", float(target.q50_m3_h_m2), figures.q50_m3_h_m2)
    return None


def _finding(
    measure: Literal["n50_per_h", "q50_m3_h_m2"], target: float, measured: Estimate
) -> TargetFinding:
    finding: Finding
    if measured.high <= target:
        finding = key = "met"
    elif measured.low > target:
        finding = key = "not_met"
    else:
        finding = "unclear"
        key = "unclear_under" if measured.value <= target else "unclear_over"
    sentence = said(
        f"test_target.{key}",
        value=places(measured.value, 3),
        unit=Key(f"test_target.unit.{measure}"),
        low=places(measured.low, 3),
        high=places(measured.high, 3),
        target=significant(target),
    )
    return TargetFinding(measure, target, measured, finding, in_english(sentence), sentence)
