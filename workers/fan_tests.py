"""What a worker does with the readings of a fan test: what they mean, beside what was predicted."""

from __future__ import annotations

import dataclasses

from api_schema.job import Job
from api_schema.leakage import LeakRange, PredictedMeasured
from api_schema.pressure_result import PressureTestResult
from api_schema.pressure_test import PressureTestInput
from api_schema.problem import SurveyFaults
from api_schema.shape import dump, load
from api_schema.tested import LeakageBudgets, Predicted
from service.records import jobs, ledger, pressure_tests, runs
from service.records.errors import NotFound
from service.records.store import Store
from service.records.tables import Run
from workers.engine.building import derive
from workers.engine.pressure import analyse, csv_of
from workers.engine.pressure.analyse import with_job

REPORT = "test_report"


def analyse_test(store: Store, claimed: ledger.Claim) -> None:
    """Analyses the readings, keeps the result and queues its report."""
    run, test_id = claimed.run, str(claimed.run.subject_id)
    with store.reading() as session:
        body = pressure_tests.get_test(session, run.account_id, test_id).body
    test = with_sizes(load(PressureTestInput, body), _job_of(store, run))
    result = analyse(test)
    prediction = _prediction(store, run, result)
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
        pressure_tests.analysed(
            session,
            run.account_id,
            test_id,
            body=dump(test),
            result=dump(result),
            prediction=None if prediction is None else dump(prediction),
            table_csv=csv_of(result),
        )
        runs.queue_render(session, run.account_id, of=run, document_kind=REPORT, subject_id=test_id)


def with_sizes(test: PressureTestInput, job: Job | None) -> PressureTestInput:
    """The test with the sizes and the target it does not bring itself: the job's, or those of the job's building."""
    if job is None:
        return test
    test = with_job(test, job)
    if job.building is None:
        return test
    try:
        shape = derive(job.building)
    except (
        SurveyFaults
    ):  # the job's own plan says so; a test needs no plan, and its checks name a missing size
        return test
    own = test.building
    return dataclasses.replace(
        test,
        building=dataclasses.replace(
            own,
            volume_m3=float(shape.volume_m3) if own.volume_m3 is None else own.volume_m3,
            envelope_area_m2=(
                float(shape.envelope_area_m2) if own.envelope_area_m2 is None else own.envelope_area_m2
            ),
            floor_area_m2=float(shape.floor_area_m2) if own.floor_area_m2 is None else own.floor_area_m2,
        ),
    )


def history_of(store: Store, account_id: str) -> tuple[PredictedMeasured, ...]:
    """Predicted beside measured of the account's tests, oldest first."""
    with store.reading() as session:
        found = pressure_tests.history(session, account_id)
    pairs = [load(Predicted, test.prediction or {}) for test in reversed(found)]
    return tuple(
        PredictedMeasured(pair.predicted_m3_h.likely, pair.measured_m3_h, pair.factor) for pair in pairs
    )


def _job_of(store: Store, run: Run) -> Job | None:
    if run.job_id is None:
        return None
    with store.reading() as session:
        return load(Job, jobs.job_body(session, run.account_id, run.job_id, run.revision))


def _prediction(store: Store, run: Run, result: PressureTestResult) -> Predicted | None:
    """What the budget of the job's newest plan had expected; nothing where the job was not planned."""
    if run.job_id is None:
        return None
    with store.reading() as session:
        plan = runs.latest_ready_run(session, run.account_id, run.job_id)
        if plan is None:
            return None
        try:
            part = runs.get_part(session, run.account_id, plan.id, "leakage")
        except NotFound:  # planned before budgets were kept
            return None
    budget = load(LeakageBudgets, part).own
    likely, found = budget.flow_50_m3_h.likely, result.figures.flow_50_m3_h.value
    return Predicted(
        predicted_m3_h=LeakRange(budget.flow_50_m3_h.low, likely, budget.flow_50_m3_h.high),
        measured_m3_h=found,
        factor=budget.factor,
        counts=result.valid and likely > 0 and found > 0,
    )
