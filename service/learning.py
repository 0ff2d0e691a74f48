"""Recorded hours of finished jobs move an account's outputs toward its own history.

For an operation and a finished job let x = ln(recorded hours ÷ hours planned with the starting outputs); the
conditions of the job are in both and cancel out. The output is multiplied by exp(μ), where μ solves

    Σ clip(x − μ, ±1.5 · σ) = K · μ        over the n jobs behind the operation.

Where nothing is clipped this is the credibility formula μ = Z · mean(x) with Z = n ÷ (n + K) (Bühlmann 1967,
"Experience rating and credibility", the starting output being the collective mean). Clipping (Huber 1964, "Robust
estimation of a location parameter") bounds what any one job can pull, however wild it is. σ = 0.30 is the usual
spread between jobs of one operation (memory).

K = σ² ÷ τ² is the variance between jobs of one operation over the variance between firms about the starting
outputs. It is held at 3 (σ = 0.30, τ = 0.17; memory): a single account shows nothing of other firms, and a ratio
found from a handful of its own jobs swings with each of them. Sources recalled.

So one job moves an output a quarter of the way, three about half, thirty nine tenths.

Learning always starts from the starting outputs and the whole history, never from what was learnt before, so that
no job counts twice.

Kept here and not in the engine: workers plan with it and the web process shows it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext

from sqlalchemy.orm import Session

from api_schema.hours import Hours, OperationHours
from api_schema.labour import Labour
from api_schema.outputs import OperationName, Output, Outputs
from api_schema.shape import load
from service.records.history import finished_jobs

_PRECISION = Context(prec=28, rounding=ROUND_HALF_EVEN)
_REACH = Decimal("0.45")  # 1.5 · σ
_RATIO = 3  # K
FORMULA = (
    "x = ln(recorded hours / hours planned with the starting output), for each finished job; the starting output is "
    "multiplied by exp(mu), where mu solves sum of clip(x - mu, -0.45, 0.45) = 3 mu. Where nothing is clipped, "
    "mu = Z mean(x) with Z = n / (n + 3)."
)
SOURCE = (
    "Credibility weight: Bühlmann 1967, Experience rating and credibility. Clipping: Huber 1964, Robust estimation of "
    "a location parameter. The 3 and the 0.45 (1.5 times a spread of 0.30 between jobs): from memory, please confirm."
)
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
    job_id: str = ""


def history_of(session: Session, account_id: str, start: Outputs) -> list[FinishedJob]:
    """The account's finished jobs, oldest first, planned hours by the outputs `start`."""
    return [
        finished_job(
            one.reference,
            load(Labour, one.labour),
            start,
            [load(Hours, hours) for hours in one.hours],
            job_id=one.job_id,
        )
        for one in finished_jobs(session, account_id)
    ]


def finished_job(
    reference: str, labour: Labour, start: Outputs, recorded: Iterable[Hours], *, job_id: str = ""
) -> FinishedJob:
    """A finished job from its plan's labour and everything recorded of it, on whatever days.

    Planned hours are turned back to the starting outputs, whatever outputs the plan was made with. Where every
    record of an operation says how much was done, they are scaled from the planned quantity to that. Operations
    without planned or recorded hours tell nothing and are left out.
    """
    with localcontext(_PRECISION):
        likely = {output.operation: output.likely_minutes for output in start.operations}
        worked: dict[OperationName, list[OperationHours]] = {}
        for hours in recorded:
            for entry in hours.operations:
                worked.setdefault(entry.operation, []).append(entry)
        found = []
        for operation, entries in worked.items():
            lines = [
                line for line in labour.operations if line.operation == operation and line.minutes_per_unit
            ]
            planned = sum(
                (line.hours * likely.get(operation, Decimal(0)) / line.minutes_per_unit for line in lines),
                Decimal(0),
            )
            quantity = sum((line.quantity for line in lines), Decimal(0))
            done = [entry.quantity for entry in entries if entry.quantity is not None]
            if len(done) == len(entries) and quantity > 0:
                planned *= sum(done, Decimal(0)) / quantity
            spent = sum((entry.hours for entry in entries), Decimal(0))
            if planned > 0 and spent > 0:
                found.append(FinishedOperation(operation, planned, spent))
    return FinishedJob(reference, tuple(found), job_id)


@dataclass(frozen=True, slots=True)
class Learnt:
    """What a history says of one operation."""

    jobs: int
    own_ratio: Decimal
    """Recorded ÷ planned hours, the geometric mean of the jobs."""
    weight: Decimal
    """Z, the weight of the own history beside the starting output where no job is held back."""
    held_back: int
    """Jobs so far off that they pull no harder than the reach lets them."""
    factor: Decimal
    """What the starting output is multiplied by."""


def learnt_of(history: Iterable[FinishedJob]) -> dict[OperationName, Learnt]:
    """What a history of finished jobs says of each operation that stands in it."""
    with localcontext(_PRECISION):
        logs: dict[OperationName, list[Decimal]] = {}
        for job in history:
            for one in job.operations:
                if one.planned_h > 0 and one.recorded_h > 0:
                    logs.setdefault(one.operation, []).append((one.recorded_h / one.planned_h).ln())
        return {operation: _learnt(found) for operation, found in logs.items()}


def learn(start: Outputs, history: Iterable[FinishedJob]) -> Outputs:
    """The outputs after a history of finished jobs; those without a job behind them stay as they started."""
    found = learnt_of(history)
    with localcontext(_PRECISION):
        operations = tuple(
            _moved(output, found[output.operation]) if output.operation in found else output
            for output in start.operations
        )
    return dataclasses.replace(start, operations=operations)


def _learnt(logs: Sequence[Decimal]) -> Learnt:
    jobs, settled = len(logs), _settled(logs)
    return Learnt(
        jobs=jobs,
        own_ratio=(sum(logs, Decimal(0)) / jobs).exp(),
        weight=Decimal(jobs) / (jobs + _RATIO),
        held_back=sum(abs(log - settled) > _REACH for log in logs),
        factor=settled.exp(),
    )


def _pull(logs: Sequence[Decimal], at: Decimal) -> Decimal:
    """What the jobs pull at `at`, each no harder than the reach lets it; falls as `at` rises."""
    return sum((_within_reach(log - at) for log in logs), Decimal(0))


def _within_reach(distance: Decimal) -> Decimal:
    return min(max(distance, -_REACH), _REACH)


def _settled(logs: Sequence[Decimal]) -> Decimal:
    """The μ at which the jobs' pull balances K · μ: exact, since the balance is straight between bends."""
    outermost = (min(Decimal(0), *logs), max(Decimal(0), *logs))
    bends = {*outermost, *(log - _REACH for log in logs), *(log + _REACH for log in logs)}
    below = None
    for bend in sorted(bends):
        rest = _RATIO * bend - _pull(logs, bend)  # rises with the bend
        if rest >= 0:
            if below is None or rest == 0:
                return bend
            return below[0] - below[1] * (bend - below[0]) / (rest - below[1])
        below = (bend, rest)
    raise AssertionError("the balance lies between the outermost bends")


def _moved(output: Output, learnt: Learnt) -> Output:
    jobs = learnt.jobs
    low, likely, high = (
        (minutes * learnt.factor).quantize(_MINUTES)
        for minutes in (output.low_minutes, output.likely_minutes, output.high_minutes)
    )
    weight = round(100 * learnt.weight)
    note = (
        f"own history of {jobs} {'job' if jobs == 1 else 'jobs'} at a weight of {weight} in 100; "
        f"started from {output.likely_minutes} min"
    )
    return dataclasses.replace(
        output, low_minutes=low, likely_minutes=likely, high_minutes=high, provenance="learnt", note=note,
        jobs_behind=jobs,
    )  # fmt: skip
