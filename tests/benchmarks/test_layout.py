"""How long layouts take and what the search over every offset is worth; figures are printed, times not asserted."""

from __future__ import annotations

import json
import random
import time
import tracemalloc
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.shape import load
from api_schema.standard import Standard
from tests.engine.layout.brute import Brute
from tests.engine.layout.shapes import COSTS, laid, surface
from tests.engine.layout.test_cheapest import small_case
from tests.engine.layout.test_cover import odd_surface
from workers.engine.costs import costs_of
from workers.engine.economy import settle
from workers.engine.layout import lay, lay_out
from workers.engine.layout.chain import row_over
from workers.engine.layout.rates import cost_in, rates_of
from workers.engine.layout.solve import solve

HOUSE = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"


def seconds(work) -> float:  # type: ignore[no-untyped-def]
    """Best of three, in processor time."""
    taken = []
    for _ in range(3):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


@pytest.mark.benchmark
def test_the_demo_house() -> None:
    job = load(Job, json.loads(HOUSE.read_text(encoding="utf-8")))
    standard = default_standard()
    costs = costs_of(default_price_book(), default_outputs(), standard, job)
    taken = seconds(lambda: lay_out(job, standard, costs))
    layout = lay_out(job, standard, costs)
    print(
        f"\ndemo house: {len(job.surfaces)} surfaces, {len(job.junctions)} corners: {taken * 1000:.0f} ms of processor time"
    )
    assert layout.proven


@pytest.mark.benchmark
def test_a_thousand_odd_surfaces() -> None:
    walls = [replace(odd_surface(seed, angle=seed % 4 == 0), id=f"s{seed}") for seed in range(1000)]
    tracemalloc.start()
    laid(walls[0])
    begin = time.process_time()
    layouts = [laid(wall) for wall in walls[:200]]
    traced = time.process_time() - begin
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    begin = time.process_time()
    layouts = [laid(wall) for wall in walls]
    taken = time.process_time() - begin
    print(f"\n1 000 odd surfaces with openings: {taken:.1f} s of processor time on one core")
    print(f"peak of memory over 200 of them: {peak / 1e6:.0f} MB (traced, {traced:.1f} s)")
    assert all(one.proven for one in layouts)


@pytest.mark.benchmark
def test_against_every_millimetre() -> None:
    """The same chain over the positions chosen and over every whole millimetre: same cost, time as a ratio."""
    rates = rates_of(COSTS, Standard())
    chosen = every = 0.0
    for seed in range(60):
        one = odd_surface(seed, angle=False)
        best = solve(one, (0,) * len(one.outline_mm), Standard(), rates).best
        begin = time.process_time()
        solve(one, (0,) * len(one.outline_mm), Standard(), rates)
        chosen += time.process_time() - begin
        begin = time.process_time()
        found = row_over(best.chain, list(range(best.chain.start, best.chain.high)))
        every += time.process_time() - begin
        assert found is not None
        assert cost_in(found[0]) == best.cost
    print(
        f"\n60 odd surfaces: both directions whole {chosen:.2f} s; one chain alone over every mm {every:.2f} s"
    )


@pytest.mark.benchmark
def test_against_a_plain_search() -> None:
    """Small surfaces: the engine beside the test's own search with fractions at 1 mm."""
    ours = plain = 0.0
    for seed in range(30):
        one, standard, costs = small_case(seed)
        begin = time.process_time()
        found = laid(one, standard, costs)
        ours += time.process_time() - begin
        begin = time.process_time()
        ways = [Brute(one, standard, costs, along=False).cheapest()]
        if one.run == "cheapest":
            ways.append(Brute(one, standard, costs, along=True).cheapest())
        plain += time.process_time() - begin
        assert found.cost == min(way for way in ways if way is not None)
    print(
        f"\n30 small surfaces, same costs: {ours * 1000:.0f} ms beside {plain * 1000:.0f} ms, 1 : {plain / ours:.0f}"
    )


@pytest.mark.benchmark
def test_what_the_offset_is_worth() -> None:
    """Against laying flush from the bottom with the least lap, the usual way, both in the better direction."""
    rates = rates_of(COSTS, Standard())
    saved: list[Decimal] = []
    dice = random.Random(7)
    for seed in range(200):
        one = odd_surface(dice.randrange(10**9), angle=False)
        best = solve(surface(one.outline_mm, tuple(o.outline_mm for o in one.openings), one.members),
                     (0,) * len(one.outline_mm), Standard(), rates)  # fmt: skip
        flush = []
        for way in (best.best, best.other):
            if way is None or way.chain.gaps:
                continue
            positions = list(range(way.chain.low, way.chain.high, 1400))
            found = row_over(way.chain, positions)
            if found is not None:
                flush.append(cost_in(found[0]))
        if flush:
            saved.append(1 - Decimal(best.best.cost) / min(flush))
        assert seed >= 0
    mean, most = sum(saved) / len(saved) * 100, max(saved) * 100
    print(
        f"\nflush from the bottom costs more on {sum(s > 0 for s in saved)} of {len(saved)}: mean {mean:.1f} %, most {most:.1f} %"
    )
    assert min(saved) >= 0


def gap_of(job: Job) -> tuple[float, bool]:
    """How far the cost of a whole job is above its bound, and whether it is proven."""
    standard, book = default_standard(), default_price_book()
    costs = costs_of(book, default_outputs(), standard, job)
    economy = settle(lay(job, standard, costs), costs, book, standard)[2]
    return float(1 - economy.bound / economy.cost), economy.proven


@pytest.mark.benchmark
def test_how_near_whole_jobs_come_to_their_bound() -> None:
    """Layout and rolls together: the demonstration house, and jobs of three to twelve odd surfaces."""
    house, _ = gap_of(load(Job, json.loads(HOUSE.read_text(encoding="utf-8"))))
    dice = random.Random(11)
    gaps = []
    for number in range(50):
        walls = tuple(
            replace(odd_surface(dice.randrange(10**9), angle=False), id=f"s{at}")
            for at in range(dice.randint(3, 12))
        )
        gaps.append(gap_of(Job(f"job {number}", walls)))
    of_all = sorted(gap for gap, _ in gaps)
    print(
        f"\nwhole jobs, cost above bound: demonstration house {house:.1%}; 50 random jobs: mean "
        f"{sum(of_all) / 50:.1%}, median {of_all[25]:.1%}, most {of_all[-1]:.1%}, proven {sum(sure for _, sure in gaps)}"
    )
