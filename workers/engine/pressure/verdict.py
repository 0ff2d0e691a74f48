"""The result beside the target, said with care where the interval reaches over it."""

from __future__ import annotations

from typing import Literal

from api_schema.job import Target
from api_schema.measured import Estimate
from api_schema.pressure_result import Figures, Finding, TargetFinding


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
    unit = "air changes per hour" if measure == "n50_per_h" else "m³/(h·m²)"
    said = f"{measured.value:.3f} {unit} at 50 Pa (95 % interval {measured.low:.3f} to {measured.high:.3f})"
    finding: Finding
    if measured.high <= target:
        finding, words = "met", f"{said} lies under the target of {target:g} with its whole interval."
    elif measured.low > target:
        finding, words = "not_met", f"{said} lies over the target of {target:g} with its whole interval."
    else:
        under = measured.value <= target
        finding = "unclear"
        words = (
            f"{said}: the measured value is {'not over' if under else 'over'} the target of {target:g}, but the interval reaches across it. "
            f"A repeat of the same test could come out {'over' if under else 'under'}. Whoever set the target decides whether the measured value alone counts."
        )
    return TargetFinding(measure, target, measured, finding, words)
