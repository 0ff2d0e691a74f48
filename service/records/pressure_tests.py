"""Fan tests, what they mean, and the history that the account's leakage factor learns from."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.records import leaks
from service.records.errors import NotFound, Stale
from service.records.ids import new_id
from service.records.jobs import get_job
from service.records.paging import Place, newest_first
from service.records.runs import cancel_run, get_run, queue_work, render_of
from service.records.store import now_of
from service.records.tables import ENDED, PressureTest

MOST_HISTORY = 400  # jobs; what is older tells little of today's crew


def create_test(
    session: Session, account_id: str, body: dict[str, Any], *, traceparent: str | None = None
) -> PressureTest:
    """Stores a test and queues its analysis; leaks that came with it are noted on its job.

    `body` is the JSON of a loaded `PressureTestInput`. Raises NotFound where it names a job that is not there.
    """
    job = None if body["job"] is None else get_job(session, account_id, body["job"])
    test_id = new_id("tst")
    run = queue_work(
        session,
        account_id,
        kind="analyse",
        subject_id=test_id,
        job_id=None if job is None else job.id,
        revision=0 if job is None else job.revision,
        traceparent=traceparent,
    )
    test = PressureTest(
        id=test_id,
        account_id=account_id,
        job_id=None if job is None else job.id,
        run_id=run.id,
        reference=body["reference"],
        body=body,
        version=1,
        created_at=now_of(session),
    )
    session.add(test)
    session.flush()
    if job is not None:
        leaks.note_leaks(session, account_id, job.id, body["leaks"], test_id=test_id)
    return test


def get_test(session: Session, account_id: str, test_id: str) -> PressureTest:
    """The test. Raises NotFound, also where it was removed or is another's."""
    test = session.scalar(
        select(PressureTest).where(
            PressureTest.account_id == account_id,
            PressureTest.id == test_id,
            PressureTest.deleted_at.is_(None),
        )
    )
    if test is None:
        raise NotFound("pressure test")
    return test


def list_tests(
    session: Session,
    account_id: str,
    *,
    limit: int,
    after: Place | None = None,
    job_id: str | None = None,
) -> list[PressureTest]:
    """The account's tests, newest first; `after` is (created_at, id) of the last one seen."""
    query = select(PressureTest).where(
        PressureTest.account_id == account_id, PressureTest.deleted_at.is_(None)
    )
    if job_id is not None:
        query = query.where(PressureTest.job_id == job_id)
    page = newest_first(query, PressureTest.created_at, PressureTest.id, limit=limit, after=after)
    return list(session.scalars(page))


def analysed(
    session: Session,
    account_id: str,
    test_id: str,
    *,
    body: dict[str, Any],
    result: dict[str, Any],
    prediction: dict[str, Any] | None,
    table_csv: str,
) -> None:
    """Stores what a test means; `body` is the test with what came from its job. Call with the run finished."""
    session.execute(
        update(PressureTest)
        .where(PressureTest.account_id == account_id, PressureTest.id == test_id)
        .values(
            body=body,
            result=result,
            prediction=prediction,
            table_csv=table_csv,
            version=PressureTest.version + 1,
        )
        .execution_options(synchronize_session=False)
    )


def delete_test(session: Session, account_id: str, test_id: str, *, if_version: int) -> None:
    """Hides a test, its leaks with it; nothing learns from it any more. Raises NotFound or Stale."""
    test = get_test(session, account_id, test_id)
    changed = session.execute(
        update(PressureTest)
        .where(PressureTest.id == test_id, PressureTest.version == if_version)
        .values(deleted_at=now_of(session), version=PressureTest.version + 1)
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale("pressure test")
    leaks.forget_leaks_of_test(session, account_id, test_id)
    report = render_of(session, account_id, kind="test_report", subject_id=test_id)
    for run_id in (test.run_id, *([] if report is None else [report.id])):
        if get_run(session, account_id, run_id).state not in ENDED:
            cancel_run(session, account_id, run_id)


def history(session: Session, account_id: str) -> list[PressureTest]:
    """The tests to learn from, newest first: valid, with a prediction, the newest of each job."""
    query = (
        select(PressureTest)
        .where(
            PressureTest.account_id == account_id,
            PressureTest.deleted_at.is_(None),
            PressureTest.prediction.is_not(None),
        )
        .order_by(PressureTest.created_at.desc(), PressureTest.id.desc())
        .limit(4 * MOST_HISTORY)
    )
    newest: dict[str, PressureTest] = {}
    for test in session.scalars(query):
        if test.prediction and test.prediction["counts"]:
            newest.setdefault(str(test.job_id), test)
    return list(newest.values())[:MOST_HISTORY]
