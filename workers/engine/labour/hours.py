"""Hours of a job, line by line, with the hours that suffice and the days a crew needs."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal, localcontext

from api_schema.job import Job
from api_schema.labour import Labour, LabourLine
from api_schema.layout import Layout
from api_schema.outputs import OPERATIONS, OperationName, Output, Outputs
from api_schema.take_off import TakeOff
from workers.engine.labour.conditions import Place, factors
from workers.engine.labour.spread import METHOD, hours_that_suffice
from workers.engine.labour.work import Task, tasks_of
from workers.engine.refusal import SettingRefused

_PRECISION = Context(prec=40, rounding=ROUND_HALF_EVEN)
_MINUTES_PER_HOUR = 60
_WRITTEN = Decimal("0.001")

_Key = tuple[OperationName, str, tuple[tuple[str, Decimal], ...]]


def hours(job: Job, layout: Layout, take_off: TakeOff, outputs: Outputs) -> Labour:
    """The hours of a job, of all its people together.

    Tasks of one operation at one position under the same conditions make one line: quantity × minutes × factors
    ÷ 60, rounded half-even to a thousandth of an hour. Likely hours are the sum of the likely lines; safe hours
    suffice in `outputs.sure_share` of jobs; crew days are likely hours ÷ (crew size × hours a day), rounded up
    to a tenth.

    Raises:
        SettingRefused: if an operation the job needs has no output, or a condition's band cannot be read.
    """
    with localcontext(_PRECISION):
        found = _grouped(tasks_of(job, layout, take_off), outputs)
        known = {output.operation: output for output in reversed(outputs.operations)}
        lines = tuple(_line(key, quantity, known[key[0]]) for key, quantity in found)
        likely = sum((line.hours for line in lines), Decimal(0))
        safe = hours_that_suffice(_by_operation(lines), outputs.sure_share).quantize(_WRITTEN)
        days = (likely / (outputs.crew_size * outputs.hours_per_day)).quantize(Decimal("0.1"), ROUND_CEILING)
    return Labour(lines, likely, safe, days, outputs.crew_size, METHOD)


def _grouped(tasks: Iterable[Task], outputs: Outputs) -> list[tuple[_Key, Decimal]]:
    units = {output.operation: output.unit for output in reversed(outputs.operations)}
    quantities: dict[_Key, Decimal] = {}
    keys: dict[tuple[OperationName, Place], _Key] = {}  # many tasks share a place
    for task in tasks:
        if task.quantity == 0:
            continue
        if task.operation not in units:
            raise SettingRefused(
                "outputs", f"The outputs have no entry for {task.operation}, which this job needs; add one."
            )
        if units[task.operation] != task.unit:
            raise SettingRefused(
                "outputs",
                f"The output for {task.operation} is by {units[task.operation]}; it is counted by {task.unit}.",
            )
        at = (task.operation, task.place)
        if at not in keys:
            applied = factors(outputs.conditions, task.operation, task.place)
            keys[at] = (task.operation, task.place.position or "job", tuple(applied.items()))
        key = keys[at]
        quantities[key] = quantities.get(key, Decimal(0)) + task.quantity
    return sorted(
        quantities.items(), key=lambda entry: (OPERATIONS.index(entry[0][0]), entry[0][1], entry[0][2])
    )


def _line(key: _Key, quantity: Decimal, output: Output) -> LabourLine:
    operation, position, applied = key
    factor = Decimal(1)
    for _, one in applied:
        factor *= one
    low, likely, high = (
        (quantity * minutes * factor / _MINUTES_PER_HOUR).quantize(_WRITTEN)
        for minutes in (output.low_minutes, output.likely_minutes, output.high_minutes)
    )
    return LabourLine(
        operation, position, quantity, output.unit, output.likely_minutes, dict(applied), likely, low, high,
        output.jobs_behind,
    )  # fmt: skip


def _by_operation(lines: Iterable[LabourLine]) -> list[tuple[Decimal, Decimal, Decimal]]:
    sums: dict[OperationName, tuple[Decimal, Decimal, Decimal]] = {}
    for line in lines:
        low, likely, high = sums.get(line.operation, (Decimal(0), Decimal(0), Decimal(0)))
        sums[line.operation] = (low + line.low_h, likely + line.hours, high + line.high_h)
    return list(sums.values())
