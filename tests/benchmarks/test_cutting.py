"""The cutting engine beside general methods, same tasks, same call: run with `pytest -s -m benchmark tests/benchmarks`.

`LAPWISE_BENCH_SECONDS` is the limit for each assignment model (default 5), `LAPWISE_BENCH_TASKS` how many tasks of a
family they get (default 4; 0: no such models); the engine and the decreasing rules get every task.
`LAPWISE_BENCH_CLOCK=processor` measures processor time, for a machine with other work. `LAPWISE_BENCH_MARKDOWN=1`
prints tables to paste: the whole one, and a short one of a row a family. Nothing is asserted about time.
"""

import importlib.util
import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import pytest

from tests.benchmarks import cutting_peers as peers
from tests.benchmarks.cutting_instances import Task, families, published
from workers.engine.cutting import cut

SECONDS = float(os.environ.get("LAPWISE_BENCH_SECONDS", "5"))
FEW = int(os.environ.get("LAPWISE_BENCH_TASKS", "4"))
CLOCK = time.process_time if os.environ.get("LAPWISE_BENCH_CLOCK") == "processor" else time.perf_counter
MARKDOWN = os.environ.get("LAPWISE_BENCH_MARKDOWN") == "1"
ENGINE = "this engine"
RULES = {
    "first-fit decreasing": peers.first_fit_decreasing,
    "best-fit decreasing": peers.best_fit_decreasing,
}
Row = tuple[str, ...]


@dataclass(frozen=True)
class Run:
    cost: Decimal | None
    proven: bool
    seconds: float


@dataclass(frozen=True)
class Runs:
    """All runs of one method on one set, beside the engine's runs on the same tasks."""

    method: str
    runs: list[Run]
    ours: list[Run]

    @property
    def found(self) -> int:
        return sum(run.cost is not None for run in self.runs)

    @property
    def proven(self) -> int:
        return sum(run.proven for run in self.runs)

    def ms(self, part: float) -> float:
        """Milliseconds that this part of the runs took at most."""
        seconds = sorted(run.seconds for run in self.runs)
        return 1000 * seconds[min(len(seconds) - 1, int(part * len(seconds)))]

    @property
    def median_ms(self) -> float:
        return 1000 * statistics.median(run.seconds for run in self.runs)

    @property
    def time_ratio(self) -> str:
        return f"{self.median_ms / 1000 / statistics.median(own.seconds for own in self.ours):.2f}"

    @property
    def cost_ratio(self) -> str:
        ratios = [
            float(run.cost / own.cost) if own.cost else 1.0
            for run, own in zip(self.runs, self.ours, strict=True)
            if run.cost is not None and own.cost is not None
        ]
        return f"{statistics.mean(ratios):.4f}" if ratios else "–"

    @property
    def row(self) -> Row:
        times = (f"{one:.1f}" for one in (self.median_ms, self.ms(0.95), self.ms(1)))
        return (
            self.method,
            f"{self.found}/{len(self.runs)}",
            str(self.proven),
            *times,
            self.time_ratio,
            self.cost_ratio,
        )


def engine(task: Task, _: float) -> tuple[Decimal | None, bool]:
    result = cut(task.pieces, task.stock, 1000)
    if task.optimum is not None:
        assert result.cost_bound <= task.optimum <= result.cost
    return result.cost, result.proven


def timed(solve: Callable[[Task, float], tuple[Decimal | None, bool]], task: Task) -> Run:
    start = CLOCK()
    cost, proven = solve(task, SECONDS)
    return Run(cost, proven, CLOCK() - start)


def show(cells: Row) -> None:
    """One row, as Markdown or in columns; at once, so that a long run is seen to go on."""
    if MARKDOWN:
        print("| " + " | ".join(cells) + " |", flush=True)
    else:
        wide = (26, 20, *[10] * len(cells))
        print(
            "  ".join(cell.ljust(width) for cell, width in zip(cells, wide, strict=False)).rstrip(),
            flush=True,
        )


def heading(cells: Row) -> None:
    print()
    show(cells)
    if MARKDOWN:
        show(("---",) * len(cells))


def models() -> dict[str, peers.Peer]:
    found: dict[str, peers.Peer] = {}
    if FEW:
        found["assignment, HiGHS"] = peers.highs_assignment
        if importlib.util.find_spec("ortools"):
            found["assignment, CP-SAT"] = peers.cp_sat_assignment
        else:
            print("ortools is not installed: no CP-SAT rows (pip install ortools).")
    return found


def on_one_set(members: list[Task], general: dict[str, peers.Peer]) -> list[Runs]:
    ours = [timed(engine, task) for task in members]
    found = [Runs(ENGINE, ours, ours)]
    for name, rule in RULES.items():
        runs = [timed(rule, task) for task in members]
        for run, own in zip(runs, ours, strict=True):
            assert own.cost is not None
            assert run.cost is None or own.cost <= run.cost
        found.append(Runs(name, runs, ours))
    few = list(range(0, len(members), max(1, len(members) // FEW)))[:FEW] if FEW else []
    if all(members[at].one_abreast for at in few):
        found.extend(
            Runs(name, [timed(model, members[at]) for at in few], [ours[at] for at in few])
            for name, model in general.items()
        )
    return found


def short_row(family: str, results: list[Runs], methods: list[str]) -> Row:
    """Tasks, proven, times of the engine; of every other method its time and cost, ours being 1."""
    ours, beside = results[0], {one.method: one for one in results[1:]}
    ratios = [
        f"{beside[name].time_ratio}; {beside[name].cost_ratio}" if name in beside else "–" for name in methods
    ]
    return (
        family,
        str(len(ours.runs)),
        str(ours.proven),
        f"{ours.ms(0.95):.0f}",
        f"{ours.ms(1):.0f}",
        *ratios,
    )


@pytest.mark.benchmark
def test_cutting_beside_general_methods() -> None:
    print()
    general = models()
    engine(published("textbook_examples")[0], 0)  # loads numpy and the solver once
    print(f"general models: {SECONDS:g} s each on {FEW} tasks a set; times in ms; ratios: ours is 1")
    heading(("set", "method", "found", "proven", "median", "95 %", "longest", "time", "cost"))
    short: list[Row] = []
    methods = [*RULES, *general]
    for family, members in families().items():
        results = on_one_set(members, general)
        for number, one in enumerate(results):
            show(("" if number else family, *one.row))
        short.append(short_row(family, results, methods))
    heading(("set", "tasks", "proven", "95 % ms", "longest ms", *(f"{name}: time; cost" for name in methods)))
    for row in short:
        show(row)
    alone = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.cutting_memory"], check=True, capture_output=True, text=True
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"\npeak memory: {alone.stdout.strip()} MB of a process with the engine alone, every set; ", end="")
    print(f"{peak} MB of this one, {'general solvers included' if general else 'without general models'}")
