"""What a firm's own fan tests teach its leakage budget: the shrinkage that recorded hours use, for one factor.

For a finished job let x = ln(measured flow ÷ flow predicted with a factor of 1). With n jobs:

- Clip (Huber 1964): with centre c = median of the x and of two zeros, every x is drawn in to c ± 1.5 · σ₀, so that
  one wild test moves the mean by no more than an ordinary one.
- Shrink (Bühlmann 1967): factor = exp(Z · m), m the mean of the clipped x, Z = n ÷ (n + K).
- K = σ² ÷ τ²: the variance of x from house to house of one firm by that of firms about the published values, by
  moments from the clipped x and held by a prior worth ten observations of σ₀ = 0.35 and τ₀ = 0.25 (memory), so K
  starts near 2; it is kept within 1 and 12.

So one test moves the factor about a third of the way, two half way, twenty nine tenths. Sources recalled. Learning
always starts from the whole history and a factor of 1, so that no test counts twice.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable
from statistics import fmean, median

from api_schema.leakage import LeakageValues, PredictedMeasured
from workers.engine.pressure.rounding import digits

_CLIPPED_AT = 1.5
_PRIOR_COUNT = 10
_PRIOR_WITHIN = 0.35**2  # σ₀², of the logarithm
_PRIOR_BETWEEN = 0.25**2  # τ₀²
_LEAST_K, _MOST_K = 1.0, 12.0


def rescaled(values: LeakageValues, history: Iterable[PredictedMeasured]) -> LeakageValues:
    """The values with the factor that the account's finished jobs teach; a factor of 1 where there are none."""
    logs = [math.log(each.measured_m3_h * each.factor / each.predicted_m3_h) for each in history]
    if not logs:
        return dataclasses.replace(values, factor=1.0, tests_behind=0)
    centre, reach = median([0.0, 0.0, *logs]), _CLIPPED_AT * math.sqrt(_PRIOR_WITHIN)
    clipped = [min(max(log, centre - reach), centre + reach) for log in logs]
    count = len(clipped)
    moved = count / (count + _variance_ratio(clipped)) * fmean(clipped)
    return dataclasses.replace(values, factor=digits(math.exp(moved)), tests_behind=count)


def _variance_ratio(logs: list[float]) -> float:
    count, mean = len(logs), fmean(logs)
    squares = math.fsum((log - mean) ** 2 for log in logs)
    within = (_PRIOR_COUNT * _PRIOR_WITHIN + squares) / (_PRIOR_COUNT + count - 1)
    apart = max(mean * mean - within / count, 0.0)
    between = (_PRIOR_COUNT * _PRIOR_BETWEEN + apart) / (_PRIOR_COUNT + 1)
    return min(max(within / between, _LEAST_K), _MOST_K)
