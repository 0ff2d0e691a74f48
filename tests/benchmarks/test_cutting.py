"""The cutting engine beside general methods, same tasks, same call: run with `pytest -s -m benchmark tests/benchmarks`.

`LAPWISE_BENCH_SECONDS` is the limit for each assignment model (default 5), `LAPWISE_BENCH_TASKS` how many tasks of a
family they get (default 4); the engine and the decreasing rules get every task.
`LAPWISE_BENCH_CLOCK=processor` measures processor time, for a machine with other work. Nothing is asserted about time.
"""

import importlib.util
import os
import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import pytest

from tests.benchmarks import cutting_instances as tasks
from tests.benchmarks import cutting_peers as peers
from tests.benchmarks.cutting_instances import Task
from workers.engine.cutting import cut

SECONDS = float(os.environ.get("LAPWISE_BENCH_SECONDS", "5"))
FEW = int(os.environ.get("LAPWISE_BENCH_TASKS", "4"))
CLOCK = time.process_time if os.environ.get("LAPWISE_BENCH_CLOCK") == "processor" else time.perf_counter


@dataclass(frozen=True)
class Run:
    cost: Decimal | None
    proven: bool
    seconds: float


def engine(task: Task, _: float) -> tuple[Decimal | None, bool]:
    result = cut(task.pieces, task.stock, 1000)
    if task.optimum is not None:
        assert result.cost_bound <= task.optimum <= result.cost
    return result.cost, result.proven


def timed(solve: Callable[[Task, float], tuple[Decimal | None, bool]], task: Task) -> Run:
    start = CLOCK()
    cost, proven = solve(task, SECONDS)
    return Run(cost, proven, CLOCK() - start)


def families() -> dict[str, list[Task]]:
    return {
        "textbook": tasks.published("textbook_examples"),
        "trade, published": tasks.published("trade_like") + tasks.published("trade_tight"),
        "trade, generated": [tasks.trade(seed) for seed in range(40)]
        + [tasks.tight(seed) for seed in range(20)],
        "several rolls and offcuts": [tasks.several_rolls(seed) for seed in range(24)],
        "side by side, planted": tasks.published("roll2d_trade")
        + [tasks.planted_abreast(seed) for seed in range(20)],
        "side by side, random": tasks.published("roll2d_random")
        + [tasks.random_abreast(seed) for seed in range(40)],
        "Falkenauer U": tasks.published("falkenauer_u") + [tasks.uniform(seed) for seed in range(20)],
        "Falkenauer T60, T120": tasks.published("falkenauer_t")
        + [tasks.triplets(60 + 60 * (seed % 2), seed) for seed in range(20)],
        "triplets 249, 501": [tasks.triplets(249 + 252 * (seed % 2), seed) for seed in range(10)],
    }


def line(name: str, runs: list[Run], ours: list[Run]) -> str:
    found = [(run, own) for run, own in zip(runs, ours, strict=True) if run.cost is not None]
    seconds = sorted(run.seconds for run in runs)
    p95 = seconds[min(len(seconds) - 1, int(0.95 * len(seconds)))]
    median = statistics.median(seconds)
    ratio = median / statistics.median(own.seconds for own in ours)
    dearer = (
        statistics.mean(float(run.cost / own.cost) if own.cost else 1.0 for run, own in found) if found else 0
    )
    return (
        f"  {name:30s} {len(found):3d}/{len(runs):<3d} {sum(run.proven for run in runs):3d}  "
        f"{1000 * median:9.1f} {1000 * p95:9.1f} {1000 * seconds[-1]:9.1f}  {ratio:9.2f}  {dearer:8.4f}"
    )


@pytest.mark.benchmark
def test_cutting_beside_general_methods() -> None:
    models = {"assignment, HiGHS": peers.highs_assignment}
    if importlib.util.find_spec("ortools"):
        models["assignment, CP-SAT"] = peers.cp_sat_assignment
    else:
        print("\nortools is not installed: no CP-SAT rows (pip install ortools).")
    engine(tasks.published("textbook_examples")[0], 0)  # loads numpy and the solver once
    print(f"\nmodels: {SECONDS:g} s each on {FEW} tasks a family; times in ms; last columns: ours is 1")
    print(f"  {'':30s} found/n  prov     median       p95       max   time ratio  cost ratio")
    for family, members in families().items():
        print(family)
        ours = [timed(engine, task) for task in members]
        print(line("this engine", ours, ours))
        for name, rule in (
            ("first-fit decreasing", peers.first_fit_decreasing),
            ("best-fit decreasing", peers.best_fit_decreasing),
        ):
            runs = [timed(rule, task) for task in members]
            for run, own in zip(runs, ours, strict=True):
                assert own.cost is not None
                assert run.cost is None or own.cost <= run.cost
            print(line(name, runs, ours))
        few = members[:: max(1, len(members) // FEW)][:FEW]
        if all(task.one_abreast for task in few):
            picked = [own for own, task in zip(ours, members, strict=True) if task in few]
            for name, model in models.items():
                runs = [timed(model, task) for task in few]
                print(line(name, runs, picked))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"peak memory of this process, general solvers included: {peak} MB")
