"""Recorded hours of finished jobs move an account's outputs toward its own history.

For an operation o and a finished job j let x = ln(recorded hours ÷ hours planned with the starting outputs); the
conditions of the job are in both and cancel out. Then, for each operation with n jobs behind it:

- Clip (Huber 1964, "Robust estimation of a location parameter"): with centre c = median of the x and of two
  zeros, and s = ln(high ÷ low) ÷ 6 of the starting output but at least 0.10, every x is drawn in to
  c ± 1.5 · s. One wild job so moves the mean by no more than an ordinary one, and a lone one hardly at all.
- Shrink (Bühlmann 1967, "Experience rating and credibility", with the starting output as collective mean):
  the output is multiplied by exp(Z · m), where m is the mean of the clipped x and Z = n ÷ (n + K).
- K = σ² ÷ τ² is the empirical-Bayes ratio of the variance between jobs of one operation to the variance between
  this account's operations and the starting outputs, both found by moments from the clipped x of all operations
  and held by a prior worth ten observations of σ = 0.30 and τ = 0.17 (memory), so K is near 3 at first; it is
  kept within 1 and 12.

So one job moves an output about a quarter of the way, three about half, thirty nine tenths. Sources recalled.
Learning always starts from the starting outputs and the whole history, never from what was learnt before, so that
no job counts twice.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from statistics import median

from api_schema.labour import Labour
from api_schema.outputs import OperationName, Output, Outputs

_PRECISION = Context(prec=28, rounding=ROUND_HALF_EVEN)
_CLIPPED_AT = Decimal("1.5")
_SMALLEST_SPREAD = Decimal("0.10")
_ZEROS = [Decimal(0)] * 2
_PRIOR_COUNT = 10
_PRIOR_WITHIN = Decimal("0.09")  # σ², of the logarithm
_PRIOR_BETWEEN = Decimal("0.03")  # τ²
_LEAST_K, _MOST_K = Decimal(1), Decimal(12)
_MINUTES = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class FinishedOperation:
    """Hours of one operation on one finished job; `planned_h` with the starting outputs."""

    operation: OperationName
    planned_h: Decimal
    recorded_h: Decimal


@dataclass(frozen=True, slots=True)
class FinishedJob:
    """Recorded beside planned hours of one finished job."""

    reference: str
    operations: tuple[FinishedOperation, ...]


def finished_job(
    reference: str,
    labour: Labour,
    start: Outputs,
    recorded_h: Mapping[OperationName, Decimal],
    rest_h: Decimal | None = None,
) -> FinishedJob:
    """A finished job from its plan's labour and what was recorded.

    `recorded_h` are hours by operation; `rest_h`, where given, is shared out over the planned operations not
    named there, in proportion to their planned hours. Planned hours are turned back to the starting outputs,
    whatever outputs the plan was made with. Operations without planned or recorded hours tell nothing and are
    left out.
    """
    with localcontext(_PRECISION):
        likely = {output.operation: output.likely_minutes for output in start.operations}
        planned: dict[OperationName, Decimal] = {}
        for line in labour.operations:
            if line.operation in likely and line.minutes_per_unit > 0:
                at_start = line.hours * likely[line.operation] / line.minutes_per_unit
                planned[line.operation] = planned.get(line.operation, Decimal(0)) + at_start
        unnamed = sum((hours for name, hours in planned.items() if name not in recorded_h), Decimal(0))
        shared = rest_h / unnamed if rest_h is not None and unnamed > 0 else Decimal(0)
        found = tuple(
            FinishedOperation(name, hours, recorded_h.get(name, hours * shared))
            for name, hours in planned.items()
        )
    return FinishedJob(reference, tuple(one for one in found if one.planned_h > 0 and one.recorded_h > 0))


def learn(start: Outputs, history: Sequence[FinishedJob]) -> Outputs:
    """The outputs after a history of finished jobs; those without a job behind them stay as they started."""
    with localcontext(_PRECISION):
        logs: dict[OperationName, list[Decimal]] = {}
        for job in history:
            for one in job.operations:
                if one.planned_h > 0 and one.recorded_h > 0:
                    logs.setdefault(one.operation, []).append((one.recorded_h / one.planned_h).ln())
        clipped = {
            output.operation: _clipped(logs[output.operation], output)
            for output in start.operations
            if output.operation in logs
        }
        ratio = _variance_ratio(list(clipped.values()))
        operations = tuple(
            _moved(output, clipped[output.operation], ratio) if output.operation in clipped else output
            for output in start.operations
        )
    return dataclasses.replace(start, operations=operations)


def _clipped(logs: list[Decimal], output: Output) -> list[Decimal]:
    spread = _SMALLEST_SPREAD
    if output.low_minutes > 0:
        spread = max(spread, (output.high_minutes / output.low_minutes).ln() / 6)
    centre, reach = median([*_ZEROS, *logs]), _CLIPPED_AT * spread
    return [min(max(log, centre - reach), centre + reach) for log in logs]


def _variance_ratio(groups: list[list[Decimal]]) -> Decimal:
    """K = σ² ÷ τ² from the clipped logarithms of every operation, by moments, with the prior's observations."""
    means = [_mean(group) for group in groups]
    squares = sum(
        ((log - mean) ** 2 for group, mean in zip(groups, means, strict=True) for log in group), Decimal(0)
    )
    freedom = sum(len(group) - 1 for group in groups)
    within = (_PRIOR_COUNT * _PRIOR_WITHIN + squares) / (_PRIOR_COUNT + freedom)
    apart = sum(
        (max(mean**2 - within / len(group), Decimal(0)) for group, mean in zip(groups, means, strict=True)),
        Decimal(0),
    )
    between = (_PRIOR_COUNT * _PRIOR_BETWEEN + apart) / (_PRIOR_COUNT + len(groups))
    return min(max(within / between, _LEAST_K), _MOST_K)


def _moved(output: Output, logs: list[Decimal], ratio: Decimal) -> Output:
    jobs = len(logs)
    weight = jobs / (jobs + ratio)
    factor = (weight * _mean(logs)).exp()
    low, likely, high = (
        (minutes * factor).quantize(_MINUTES)
        for minutes in (output.low_minutes, output.likely_minutes, output.high_minutes)
    )
    note = (
        f"own history of {jobs} {'job' if jobs == 1 else 'jobs'} at a weight of {round(weight * 100)} in 100; "
        f"started from {output.likely_minutes} min"
    )
    return dataclasses.replace(
        output, low_minutes=low, likely_minutes=likely, high_minutes=high, provenance="learnt", note=note,
        jobs_behind=jobs,
    )  # fmt: skip


def _mean(values: list[Decimal]) -> Decimal:
    return sum(values, Decimal(0)) / len(values)
