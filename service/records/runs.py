"""Runs as their owner sees them: queued, looked at, cancelled, tried again. How they are done is in `ledger`."""

from __future__ import annotations

import datetime
import time
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.records.errors import NotFound, NotPossibleNow
from service.records.ids import new_id
from service.records.jobs import get_job
from service.records.logos import logo_now
from service.records.own_values import keep_profile, keep_snapshots
from service.records.store import Store, now_of
from service.records.tables import ENDED, INTERACTIVE, PAPER, Drawing, Plan, PlanPart, Run

DEADLINE_S = 6 * 3600
MAX_ATTEMPTS = 3


def queue_plan(
    session: Session,
    account_id: str,
    job_id: str,
    revision: int,
    *,
    priority: int = INTERACTIVE,
    deadline_s: int = DEADLINE_S,
    max_attempts: int = MAX_ATTEMPTS,
    traceparent: str | None = None,
    standard: dict[str, Any] | None = None,
) -> Run:
    """Queues a plan of a job's revision with the standard, outputs and price book of this moment.

    `standard` (JSON of `Standard`) is used for this run in place of the account's. The row is all there is to it: the
    scheduler finds it and tells a worker. Nothing is sent from here.
    """
    return _queue(
        session,
        account_id=account_id,
        kind="plan",
        job_id=job_id,
        revision=revision,
        priority=priority,
        deadline_s=deadline_s,
        max_attempts=max_attempts,
        traceparent=traceparent,
        snapshots=keep_snapshots(session, account_id, job_id=job_id, standard=standard),
    )


def queue_render(
    session: Session,
    account_id: str,
    *,
    of: Run,
    document_kind: str,
    subject_id: str,
    deadline_s: int = DEADLINE_S,
    max_attempts: int = MAX_ATTEMPTS,
) -> Run:
    """Queues a document of the run `of`: its ``site_pack``, or the ``quote``, ``order`` or fan test named by `subject_id`.

    It shows the account's profile and logo of this moment, however much later it is rendered.
    """
    return _queue(
        session,
        account_id=account_id,
        kind="render",
        job_id=of.job_id,
        revision=of.revision,
        document_kind=document_kind,
        subject_id=subject_id,
        priority=of.priority + PAPER,
        deadline_s=deadline_s,
        max_attempts=max_attempts,
        traceparent=of.traceparent,
        snapshots={
            **of.snapshots,
            "profile": keep_profile(session, account_id),
            **logo_now(session, account_id),
        },
    )


def queue_pricing(session: Session, account_id: str, *, of: Run, quote_id: str) -> Run:
    """Queues the price of a quote with options, made from the plan `of` with the values that plan was made with."""
    return _queue(
        session,
        account_id=account_id,
        kind="price",
        job_id=of.job_id,
        revision=of.revision,
        subject_id=quote_id,
        priority=INTERACTIVE,
        deadline_s=DEADLINE_S,
        max_attempts=MAX_ATTEMPTS,
        traceparent=of.traceparent,
        snapshots=of.snapshots,
    )


def queue_work(
    session: Session,
    account_id: str,
    *,
    kind: str,
    subject_id: str,
    job_id: str | None = None,
    revision: int = 0,
    traceparent: str | None = None,
) -> Run:
    """Queues work on something else than a plan: ``analyse`` for a fan test, ``read`` for a model."""
    return _queue(
        session,
        account_id=account_id,
        kind=kind,
        job_id=job_id,
        revision=revision,
        subject_id=subject_id,
        priority=INTERACTIVE,
        deadline_s=DEADLINE_S,
        max_attempts=MAX_ATTEMPTS,
        traceparent=traceparent,
        snapshots={},
    )


def _queue(session: Session, *, deadline_s: int, **values: Any) -> Run:
    now = now_of(session)
    run = Run(
        id=new_id("run"),
        state="queued",
        attempt=0,
        fence=0,
        progress=0,
        not_before=now,
        created_at=now,
        deadline_at=now + datetime.timedelta(seconds=deadline_s),
        **values,
    )
    session.add(run)
    session.flush()
    return run


def get_run(session: Session, account_id: str, run_id: str) -> Run:
    """The run. Raises NotFound."""
    run = session.scalar(select(Run).where(Run.account_id == account_id, Run.id == run_id))
    if run is None:
        raise NotFound("run")
    return run


def latest_run(session: Session, account_id: str, job_id: str, *, revision: int | None = None) -> Run | None:
    """The newest plan run of a job (or of one revision of it); None where it was never planned."""
    query = select(Run).where(Run.account_id == account_id, Run.job_id == job_id, Run.kind == "plan")
    if revision is not None:
        query = query.where(Run.revision == revision)
    return session.scalar(query.order_by(Run.created_at.desc(), Run.id.desc()).limit(1))


def latest_ready_run(session: Session, account_id: str, job_id: str) -> Run | None:
    """The newest plan run of a job's newest planned revision that is ready; None where there is none."""
    return session.scalar(
        select(Run)
        .where(Run.account_id == account_id, Run.job_id == job_id, Run.kind == "plan", Run.state == "ready")
        .order_by(Run.revision.desc(), Run.created_at.desc(), Run.id.desc())
        .limit(1)
    )


def list_plan_runs(session: Session, account_id: str, job_id: str) -> list[Run]:
    """Every plan run of a job, newest first."""
    return list(
        session.scalars(
            select(Run)
            .where(Run.account_id == account_id, Run.job_id == job_id, Run.kind == "plan")
            .order_by(Run.created_at.desc(), Run.id.desc())
        )
    )


def renders_of(session: Session, account_id: str, job_id: str) -> list[Run]:
    """Runs that render documents of a job and have not ended well: on their way, failed or cancelled."""
    return list(
        session.scalars(
            select(Run)
            .where(
                Run.account_id == account_id,
                Run.job_id == job_id,
                Run.kind == "render",
                Run.document_kind != "drawings",
                Run.state != "ready",
            )
            .order_by(Run.created_at, Run.id)
        )
    )


def get_plan(session: Session, account_id: str, run_id: str) -> dict[str, Any]:
    """The plan of a run that is ready: JSON of `api_schema.plan.Plan`. Raises NotFound."""
    plan = session.scalar(select(Plan).where(Plan.account_id == account_id, Plan.run_id == run_id))
    if plan is None:
        raise NotFound("plan")
    return plan.body


def get_part(session: Session, account_id: str, run_id: str, name: str) -> dict[str, Any]:
    """What was computed beside the plan of a run: ``survey`` or ``leakage``. Raises NotFound."""
    part = session.scalar(
        select(PlanPart).where(
            PlanPart.account_id == account_id, PlanPart.run_id == run_id, PlanPart.name == name
        )
    )
    if part is None:
        raise NotFound("plan part")
    return part.body


def render_of(session: Session, account_id: str, *, kind: str, subject_id: str) -> Run | None:
    """The newest run that renders a document of that kind and subject; None where nobody asked for it."""
    return session.scalar(
        select(Run)
        .where(
            Run.account_id == account_id,
            Run.kind == "render",
            Run.document_kind == kind,
            Run.subject_id == subject_id,
        )
        .order_by(Run.created_at.desc(), Run.id.desc())
        .limit(1)
    )


def get_drawing(session: Session, account_id: str, run_id: str, surface: str) -> bytes:
    """One surface of a ready plan as SVG. Raises NotFound."""
    drawing = session.scalar(
        select(Drawing).where(
            Drawing.account_id == account_id, Drawing.run_id == run_id, Drawing.surface == surface
        )
    )
    if drawing is None:
        raise NotFound("drawing")
    return drawing.svg


def cancel_run(session: Session, account_id: str, run_id: str) -> Run:
    """Cancels a run; one being computed is given up and its result thrown away. Twice changes nothing.

    Raises:
        NotFound: no such run.
        NotPossibleNow: it has ended already (`run_ended`).
    """
    run = get_run(session, account_id, run_id)
    changed = session.execute(
        update(Run)
        .where(Run.id == run_id, Run.state.in_(("queued", "running")))
        .values(state="cancelled", fence=Run.fence + 1, lease_until=None, finished_at=now_of(session))
        .execution_options(synchronize_session=False)
    )
    session.refresh(run)
    if changed.rowcount == 0 and run.state != "cancelled":  # type: ignore[attr-defined]
        raise NotPossibleNow("run_ended", f"The plan is {run.state} already; there is nothing to cancel.")
    return run


def retry_run(session: Session, account_id: str, run_id: str, *, traceparent: str | None = None) -> Run:
    """Queues a failed or cancelled plan again, as a new run with the values that hold now.

    Raises:
        NotFound: no such run, or its job was deleted.
        NotPossibleNow: it has not failed and was not cancelled (`run_not_failed`).
    """
    run = get_run(session, account_id, run_id)
    get_job(session, account_id, run.job_id)
    if run.state not in ("failed", "cancelled"):
        raise NotPossibleNow(
            "run_not_failed", f"The plan is {run.state}; only a failed or cancelled one is tried again."
        )
    return queue_plan(
        session, account_id, run.job_id, run.revision, priority=run.priority, traceparent=traceparent
    )


def wait_for_run(store: Store, account_id: str, run_id: str, *, seconds: float) -> Run:
    """The run once it has ended, or as it stands after `seconds`. Looks often at first; holds no transaction.

    Raises:
        NotFound: no such run.
    """
    give_up = time.monotonic() + seconds
    pause = 0.02
    while True:
        with store.reading() as session:
            run = get_run(session, account_id, run_id)
        left = give_up - time.monotonic()
        if run.state in ENDED or left <= 0:
            return run
        time.sleep(min(pause, left))
        pause = min(pause * 1.2, 0.25)
