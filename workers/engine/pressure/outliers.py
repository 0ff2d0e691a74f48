"""Readings that stand apart from the others, found in the plain log-log fit whatever the method.

A fit weighted by flow squared all but ignores a reading typed too small, so it cannot be trusted to show one.
Two looks, in this order:

1. A line that a few bad readings cannot pull: slope = median of the slopes between all pairs (Theil–Sen),
   intercept = median of y − slope·x. A reading is gross where it lies more than 15 % and more than 8 robust
   standard deviations (1.4826 · median |residual|) off that line.
2. Among the rest, the reading whose deletion residual is largest is set aside where it exceeds Student's t at
   5 % shared over the readings (Bonferroni) and the reading lies more than 3 % off the line of the others; then
   the next, until none is.

At most a third of the readings is named, and at least four are kept.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from workers.engine.pressure.line import fit
from workers.engine.pressure.student import two_sided

_GROSS = math.log(1.15)
_GROSS_SPREADS = 8.0
_FINE = math.log(1.03)
_FEWEST_KEPT = 4


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that stands apart: its place (from 0) and ln of flow by the flow the others put there."""

    place: int
    off: float
    expected_ln_flow: float
    slope: float


def outliers(x: Sequence[float], y: Sequence[float]) -> tuple[Outlier, ...]:
    """The readings that stand apart, in their order; `x` is ln of pressure in Pa, `y` is ln of flow."""
    most = min(len(x) // 3, len(x) - _FEWEST_KEPT)
    if most < 1:
        return ()
    kept = list(range(len(x)))
    for place in _gross(x, y)[:most]:
        kept.remove(place)
    while len(x) - len(kept) < most and len(kept) > _FEWEST_KEPT:
        worst = _worst(x, y, kept)
        if worst is None:
            break
        kept.remove(worst)
    if len(kept) == len(x):
        return ()
    line = fit([x[place] for place in kept], [y[place] for place in kept])
    return tuple(
        Outlier(place, y[place] - line.at(x[place]), line.at(x[place]), line.slope)
        for place in range(len(x))
        if place not in kept
    )


def _gross(x: Sequence[float], y: Sequence[float]) -> list[int]:
    slopes = [
        (y[j] - y[i]) / (x[j] - x[i]) for i in range(len(x)) for j in range(i) if abs(x[j] - x[i]) > 0.02
    ]
    if not slopes:
        return []
    slope = median(slopes)
    heights = [b - slope * a for a, b in zip(x, y, strict=True)]
    middle = median(heights)
    off = [abs(height - middle) for height in heights]
    limit = max(_GROSS, _GROSS_SPREADS * 1.4826 * median(off))
    return sorted(
        (place for place, far in enumerate(off) if far > limit), key=lambda place: (-off[place], place)
    )


def _worst(x: Sequence[float], y: Sequence[float], kept: list[int]) -> int | None:
    """The kept reading with the largest deletion residual, if that is too large to be chance."""
    count = len(kept)
    line = fit([x[place] for place in kept], [y[place] for place in kept])
    sxx = (line.spread / line.slope_sd) ** 2 if line.slope_sd > 0 else 0.0
    if sxx <= 0:
        return None  # the readings lie exactly on a line
    rest = line.spread**2 * (count - 2)
    worst, worst_t, worst_off = -1, 0.0, 0.0
    for place in kept:
        residual = y[place] - line.at(x[place])
        free = 1 - 1 / count - (x[place] - line.mean_x) ** 2 / sxx
        if free <= 1e-9:
            continue
        without = (rest - residual * residual / free) / (count - 3)
        t = abs(residual) / math.sqrt(max(without, 1e-30) * free)
        if t > worst_t:
            worst, worst_t, worst_off = place, t, abs(residual) / free
    if worst_off <= _FINE or worst_t <= 3.0:  # Student's t shared over four or more readings is never below 3
        return None
    return worst if worst_t > two_sided(1 - 0.05 / count, count - 3) else None
