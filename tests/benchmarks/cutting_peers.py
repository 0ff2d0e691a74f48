"""General methods to set the cutting engine beside: first-fit and best-fit decreasing, and assignment models.

Each takes a task and seconds and returns (cost, proven); cost None where nothing was found in time.
"""

from collections import Counter
from collections.abc import Callable
from decimal import Decimal

import highspy
import numpy as np
from highspy._core import _Highs  # the plain solver: the public wrapper prints a banner when it is made

from tests.benchmarks.cutting_instances import Task

Peer = Callable[[Task, float], tuple[Decimal | None, bool]]


def _bins(task: Task, *, best: bool) -> list[tuple[int, Decimal, list[int]]]:
    """Offcuts, then the roll cheapest by the metre; pieces one abreast, longest first."""
    bins = [
        (one.length_mm, one.price, [])
        for one in task.stock
        if one.on_hand is not None
        for _ in range(one.on_hand)
    ]
    roll = min((one for one in task.stock if one.on_hand is None), key=lambda one: one.price / one.length_mm)
    for length, _ in sorted(task.sizes, reverse=True):
        open_bins = [one for one in bins if one[0] - sum(one[2]) >= length]
        if not open_bins:
            open_bins = [(roll.length_mm, roll.price, [])]
            bins.extend(open_bins)
        chosen = min(open_bins, key=lambda one: one[0] - sum(one[2])) if best else open_bins[0]
        chosen[2].append(length)
    return [one for one in bins if one[2]]


def _shelves(task: Task) -> list[int]:
    """Where pieces lie side by side: first-fit decreasing sections, as lengths."""
    room = task.stock[0].width_mm
    sections: list[list[int]] = []
    for length, width in sorted(task.sizes, reverse=True):
        for one in sections:
            if one[1] + width <= room:
                one[1] += width
                break
        else:
            sections.append([length, width])
    return [length for length, _ in sections]


def _decreasing(task: Task, *, best: bool) -> tuple[Decimal | None, bool]:
    plain = task if task.one_abreast else Task("", tuple((one, 1500) for one in _shelves(task)), task.stock)
    return sum((price for _, price, _ in _bins(plain, best=best)), Decimal(0)), False


def first_fit_decreasing(task: Task, _: float) -> tuple[Decimal | None, bool]:
    return _decreasing(task, best=False)


def best_fit_decreasing(task: Task, _: float) -> tuple[Decimal | None, bool]:
    return _decreasing(task, best=True)


def _model(task: Task) -> tuple[list[tuple[int, int]], list[tuple[int, Decimal]]]:
    """Distinct lengths with counts, and bins to choose from: as many as first-fit decreasing opens of each kind."""
    kinds = sorted(Counter(length for length, _ in task.sizes).items(), reverse=True)
    bought = sum(price > 0 for _, price, _ in _bins(task, best=False))
    longest = max(one.length_mm for one in task.stock if one.on_hand is None)
    bins = []
    for one in task.stock:
        many = one.on_hand if one.on_hand is not None else bought * -(-longest // one.length_mm)
        bins.extend([(one.length_mm, one.price)] * many)
    return kinds, bins


def highs_assignment(task: Task, seconds: float) -> tuple[Decimal | None, bool]:
    """Whole numbers of each length in each bin, bins opened; one thread."""
    kinds, bins = _model(task)
    solver = _Highs()
    for name, value in (("output_flag", False), ("threads", 1), ("time_limit", seconds)):
        solver.setOptionValue(name, value)
    lp = highspy.HighsLp()
    columns = len(bins) * (len(kinds) + 1)
    rows = len(bins) + len(kinds)
    lp.num_col_, lp.num_row_ = columns, rows
    cost, upper = np.zeros(columns), np.zeros(columns)
    starts, index, value = [0], [], []
    for bin_number, (room, price) in enumerate(bins):
        for kind, (length, count) in enumerate(kinds):
            upper[bin_number * (len(kinds) + 1) + kind] = min(count, room // length)
            index.extend([bin_number, len(bins) + kind])
            value.extend([length, 1])
            starts.append(len(index))
        at = bin_number * (len(kinds) + 1) + len(kinds)
        cost[at], upper[at] = float(price), 1
        index.append(bin_number)
        value.append(-room)
        starts.append(len(index))
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, np.zeros(columns), upper
    lp.row_lower_ = np.array([-highspy.kHighsInf] * len(bins) + [float(count) for _, count in kinds])
    lp.row_upper_ = np.array([0.0] * len(bins) + [float(count) for _, count in kinds])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_, lp.a_matrix_.index_ = np.array(starts), np.array(index)
    lp.a_matrix_.value_ = np.array(value, dtype=float)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * columns
    solver.passModel(lp)
    solver.run()
    found = solver.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return (Decimal(str(round(solver.getObjectiveValue(), 2))) if found else None), proven


def cp_sat_assignment(task: Task, seconds: float) -> tuple[Decimal | None, bool]:
    """The same model for CP-SAT, two workers. Raises ImportError where it is not installed."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - a benchmark extra

    kinds, bins = _model(task)
    model = cp_model.CpModel()
    opened = [model.new_bool_var("") for _ in bins]
    held = [
        [model.new_int_var(0, min(count, room // length), "") for length, count in kinds] for room, _ in bins
    ]
    for (room, _), is_open, row in zip(bins, opened, held, strict=True):
        model.add(sum(length * many for (length, _), many in zip(kinds, row, strict=True)) <= room * is_open)
    for kind, (_, count) in enumerate(kinds):
        model.add(sum(row[kind] for row in held) == count)
    for one, other in zip(range(len(bins)), range(1, len(bins)), strict=False):
        if bins[one] == bins[other]:
            model.add(opened[one] >= opened[other])
    model.minimize(sum(int(price) * is_open for (_, price), is_open in zip(bins, opened, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    found = status in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return (Decimal(round(solver.objective_value)) if found else None), status == cp_model.OPTIMAL
