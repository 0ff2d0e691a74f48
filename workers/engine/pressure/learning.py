"""What a firm's own fan tests teach its leakage budget."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable

from api_schema.leakage import LeakageValues, PredictedMeasured
from workers.engine.pressure.rounding import digits

JOBS_TO_HALF_WAY = 4.0


def rescaled(values: LeakageValues, history: Iterable[PredictedMeasured]) -> LeakageValues:
    """The values with the factor that the account's finished jobs teach (1 where there are none).

    Each job gives y = ln(measured ÷ (predicted ÷ the factor its budget used)), the firm's leak by the published
    values alone. factor = exp(N/(N + k) · mean y), k = 4: the published values weigh as much as four jobs, so one
    job moves the factor a fifth of the way, four half way, forty ten elevenths. Logarithms, so that twice and half
    cancel. k = σ²/τ², the variance of y from job to job of one firm by that from firm to firm; 4 is assumed.
    """
    logs = [math.log(each.measured_m3_h * each.factor / each.predicted_m3_h) for each in history]
    count = len(logs)
    moved = math.fsum(logs) / (count + JOBS_TO_HALF_WAY)
    return dataclasses.replace(values, factor=digits(math.exp(moved)), tests_behind=count)
