"""Recorded hours move the outputs, recovering what a firm really needs."""

import dataclasses
import random
from decimal import Decimal
from math import exp, log

import pytest

from api_schema.defaults import default_outputs
from api_schema.hours import Hours, OperationHours
from api_schema.labour import Labour, LabourLine
from service.learning import FinishedJob, FinishedOperation, finished_job, learn

START = default_outputs()
TRUTHS = {"hang_membrane": 0.75, "tape_lap": 1.4, "fit_collar": 0.6, "seal_frame": 1.2, "tape_corner": 1.0}


def history(jobs, spread=0.2, seed=1, truths=TRUTHS):
    """Finished jobs of a firm whose operations really take `truths` times the starting outputs."""
    chance = random.Random(seed)
    made = []
    for number in range(jobs):
        operations = []
        for name, truth in truths.items():
            planned = Decimal(chance.randint(50, 2000)) / 100
            recorded = planned * Decimal(truth * exp(chance.gauss(0, spread)))
            operations.append(FinishedOperation(name, planned, recorded))
        made.append(FinishedJob(f"job-{number}", tuple(operations)))
    return made


def moved(outputs):
    """How many times its starting minutes each output now is."""
    start = {output.operation: output.likely_minutes for output in START.operations}
    return {
        output.operation: float(output.likely_minutes / start[output.operation])
        for output in outputs.operations
    }


@pytest.mark.parametrize("seed", range(5))
def test_a_long_history_recovers_what_the_firm_really_needs(seed):
    found = moved(learn(START, history(60, seed=seed)))
    for name, truth in TRUTHS.items():
        assert found[name] == pytest.approx(truth, rel=0.08)


def test_the_error_falls_as_jobs_are_finished():
    def error(jobs):
        runs = [moved(learn(START, history(jobs, seed=seed))) for seed in range(20)]
        return sum(abs(run[name] - truth) for run in runs for name, truth in TRUTHS.items())

    errors = [error(jobs) for jobs in (1, 4, 16, 64)]
    assert errors == sorted(errors, reverse=True)
    assert errors[3] < errors[0] / 3


def test_few_jobs_move_little_and_many_move_most_of_the_way():
    def way(jobs):
        return (moved(learn(START, history(jobs, spread=0, truths={"tape_lap": 1.3})))["tape_lap"] - 1) / 0.3

    assert 0 < way(1) < 0.25
    assert 0.4 < way(5) < 0.75
    assert 0.85 < way(30) < 1


@pytest.mark.parametrize("jobs", [0, 1, 2, 3, 10, 30])
@pytest.mark.parametrize("seed", range(5))
def test_one_wild_job_spoils_nothing(jobs, seed):
    """A job ten times over (a digit too many) pulls no harder than one 1.6 times over would, and less and less."""
    wild = FinishedJob("wild", tuple(FinishedOperation(name, Decimal(10), Decimal(100)) for name in TRUTHS))
    calm = history(jobs, seed=seed)
    before, after = moved(learn(START, calm)), moved(learn(START, [*calm, wild]))
    for name in TRUTHS:
        assert after[name] == pytest.approx(before[name], rel=exp(0.7 / (jobs + 3)) - 1)


def test_how_wild_a_job_is_makes_no_difference():
    def after(times):
        wild = FinishedJob("wild", (FinishedOperation("tape_lap", Decimal(10), Decimal(10 * times)),))
        return learn(START, [*history(6), wild])

    assert after(5) == after(1000)


def test_where_nothing_is_wild_the_mean_is_shrunk_by_n_over_n_plus_three():
    """C: Bühlmann's credibility formula, Z = 4 ÷ (4 + 3), of the mean logarithm of 1.1, 1.2, 0.9 and 1.0."""
    ratios = ("1.1", "1.2", "0.9", "1")
    jobs = [FinishedJob(each, (FinishedOperation("tape_lap", Decimal(1), Decimal(each)),)) for each in ratios]
    mean = sum(log(float(each)) for each in ratios) / 4
    assert moved(learn(START, jobs))["tape_lap"] == pytest.approx(exp(4 / 7 * mean), rel=1e-4)


def test_operations_without_a_job_behind_them_stay_as_they_started():
    learnt = learn(START, history(5))
    for before, after in zip(START.operations, learnt.operations, strict=True):
        if before.operation not in TRUTHS:
            assert after == before


def test_a_learnt_output_says_how_many_jobs_stand_behind_it():
    tape = next(o for o in learn(START, history(5)).operations if o.operation == "tape_lap")
    assert (tape.jobs_behind, tape.provenance) == (5, "learnt")
    assert "5 jobs" in tape.note


def test_low_and_high_move_with_likely():
    for before, after in zip(START.operations, learn(START, history(9)).operations, strict=True):
        ratio = after.likely_minutes / before.likely_minutes
        assert after.low_minutes == pytest.approx(before.low_minutes * ratio, rel=Decimal("0.01"))
        assert after.high_minutes == pytest.approx(before.high_minutes * ratio, rel=Decimal("0.01"))


def test_the_order_of_jobs_does_not_matter():
    jobs = history(12)
    assert learn(START, jobs) == learn(START, list(reversed(jobs)))


def test_no_history_changes_nothing():
    assert learn(START, []) == START


def test_jobs_without_hours_tell_nothing():
    empty = FinishedJob(
        "empty",
        (
            FinishedOperation("tape_lap", Decimal(0), Decimal(3)),
            FinishedOperation("staple", Decimal(3), Decimal(0)),
        ),
    )
    assert learn(START, [empty]) == START


def line(operation, hours, minutes):
    hours = Decimal(hours)
    return LabourLine(operation, "wall", Decimal(10), "m", Decimal(minutes), {}, hours, hours, hours)


LABOUR = Labour(
    (line("tape_lap", 6, "3.6"), line("tape_lap", 2, "3.6"), line("tape_corner", 4, "2.7")),
    Decimal(12),
    Decimal(14),
    Decimal(1),
)


def recorded(*entries):
    return Hours(
        tuple(OperationHours(name, Decimal(hours), *map(Decimal, done)) for name, hours, *done in entries)
    )


def test_planned_hours_are_turned_back_to_the_starting_outputs():
    """A plan made with 3.6 min/m, where the firm started from 1.8, planned twice the hours of the start."""
    job = finished_job("J", LABOUR, START, [recorded(("tape_lap", 7))])
    assert job.operations == (FinishedOperation("tape_lap", Decimal(4), Decimal(7)),)


def test_hours_of_several_days_are_added_up():
    job = finished_job(
        "J", LABOUR, START, [recorded(("tape_lap", 3)), recorded(("tape_lap", 4), ("tape_corner", 5))]
    )
    assert [(one.operation, one.planned_h, one.recorded_h) for one in job.operations] == [
        ("tape_lap", 4, 7), ("tape_corner", 4, 5),
    ]  # fmt: skip


def test_what_was_really_done_counts_where_it_is_said():
    """Ten of the twenty planned metres were taped, so half the planned hours stand beside the recorded ones."""
    job = finished_job("J", LABOUR, START, [recorded(("tape_lap", 1, 4)), recorded(("tape_lap", 2, 6))])
    assert job.operations == (FinishedOperation("tape_lap", Decimal(2), Decimal(3)),)


def test_operations_nobody_planned_tell_nothing():
    assert finished_job("J", LABOUR, START, [recorded(("staple", 3))]).operations == ()


def test_learning_twice_from_the_same_history_gives_the_same():
    once = learn(START, history(5))
    assert learn(START, history(5)) == once
    assert dataclasses.replace(once, operations=START.operations) == START
