"""How runs are done: announced, claimed, kept alive, finished once, and looked after when a worker dies.

The `run` row is the queue of record. A message on the broker only says that a run may be waiting: losing,
doubling or delaying it changes nothing. A worker owns a run by its fence, a number that grows with each claim;
whoever holds an older one can no longer change anything. Every moment is the database's.

This room serves workers and the scheduler, so it alone asks for no account: it is never reached from a request.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import and_, func, or_, select, update
from sqlalchemy.orm import Session, aliased

from api_schema.problem import Problem
from api_schema.shape import dump
from service.records.errors import LostLease
from service.records.events import tell_of_plan
from service.records.store import now_of
from service.records.tables import Drawing, Plan, PlanPart, Run

_S = datetime.timedelta(seconds=1)
PUT_ASIDE = (
    "run_quarantined",
    "run_too_large",
    "run_too_long",
    "run_broke_off",
)  # after every attempt, by our fault


@dataclass(frozen=True, slots=True)
class Claim:
    """A run this worker may now do."""

    run: Run
    fence: int


@dataclass(slots=True)
class Swept:
    """What a sweep did, by run id."""

    requeued: list[str] = field(default_factory=list)
    quarantined: list[str] = field(default_factory=list)
    overdue: list[str] = field(default_factory=list)
    announced_again: list[str] = field(default_factory=list)


def dispatch(session: Session, *, kind: str, ahead: int) -> list[str]:
    """Marks waiting runs of a kind as announced and gives their ids, to be sent to the broker after the commit.

    At most `ahead` runs (or as many as are being done, where that is more) are announced and not yet begun: the
    broker's own queue is first come first served, so it must stay short. Turns are taken by account: a run comes
    after as many others as its account has under way or waiting before it, plus its priority. So one run of a
    quiet account passes a thousand of a busy one.
    """
    now = now_of(session)
    room = _room(session, kind, ahead)
    if room <= 0:
        return []
    other = aliased(Run)
    under_way = (
        select(other.account_id, func.count().label("runs"))
        .where(
            other.kind == kind,
            or_(
                other.state == "running",
                and_(other.state == "queued", other.dispatched_at.is_not(None)),
            ),
        )
        .group_by(other.account_id)
        .cte("under_way")
    )
    in_account = func.row_number().over(
        partition_by=Run.account_id, order_by=(Run.priority, Run.created_at, Run.id)
    )
    ranked = (
        select(Run.id, (in_account + Run.priority + func.coalesce(under_way.c.runs, 0)).label("turn"))
        .outerjoin(under_way, under_way.c.account_id == Run.account_id)
        .where(
            Run.kind == kind,
            Run.state == "queued",
            Run.dispatched_at.is_(None),
            Run.not_before <= now,
            Run.deadline_at > now,
        )
        .cte("ranked")
    )
    picked = (
        select(Run.id)
        .join(ranked, ranked.c.id == Run.id)
        .where(Run.state == "queued", Run.dispatched_at.is_(None))
        .order_by(ranked.c.turn, Run.created_at, Run.id)
        .limit(room)
        .with_for_update(of=Run, skip_locked=True)
        .cte("picked")
    )
    chosen = list(session.scalars(select(picked.c.id)))
    if chosen:
        session.execute(
            update(Run)
            .where(Run.id.in_(chosen))
            .values(dispatched_at=now)
            .execution_options(synchronize_session=False)
        )
    return chosen


def may_dispatch(session: Session, *, kind: str, ahead: int) -> bool:
    """Would `dispatch` find a run and room for it? Writes nothing, so it may be asked often."""
    waiting = (
        select(Run.id)
        .where(
            Run.kind == kind,
            Run.state == "queued",
            Run.dispatched_at.is_(None),
            Run.not_before <= now_of(session),
        )
        .limit(1)
    )
    return session.scalar(waiting) is not None and _room(session, kind, ahead) > 0


def _room(session: Session, kind: str, ahead: int) -> int:
    announced, running = session.execute(
        select(
            func.count().filter(Run.state == "queued", Run.dispatched_at.is_not(None)),
            func.count().filter(Run.state == "running"),
        ).where(Run.kind == kind, Run.state.in_(("queued", "running")))
    ).one()
    return int(max(ahead, running) - announced)


def not_announced(session: Session, run_ids: list[str]) -> None:
    """Takes announcements back that could not be sent."""
    session.execute(
        update(Run)
        .where(Run.id.in_(run_ids), Run.state == "queued")
        .values(dispatched_at=None)
        .execution_options(synchronize_session=False)
    )


def claim(session: Session, run_id: str, *, worker: str, lease_s: float) -> Claim | None:
    """Makes this worker the owner of the run, if it is waiting, or running under a lease that ran out.

    None where somebody else has it, it has ended, its time has not come, or its attempts are used up: then there
    is nothing to do.
    """
    now = now_of(session)
    run = session.execute(
        update(Run)
        .where(
            Run.id == run_id,
            Run.attempt < Run.max_attempts,
            Run.deadline_at > now,
            or_(
                and_(Run.state == "queued", Run.not_before <= now),
                and_(Run.state == "running", Run.lease_until < now),
            ),
        )
        .values(
            state="running",
            attempt=Run.attempt + 1,
            fence=Run.fence + 1,
            worker=worker,
            lease_until=now + lease_s * _S,
            started_at=func.coalesce(Run.started_at, now),
            progress=0,
        )
        .returning(Run)
        .execution_options(synchronize_session=False, populate_existing=True)
    ).scalar_one_or_none()
    return None if run is None else Claim(run, run.fence)


def heartbeat(
    session: Session, run_id: str, *, fence: int, lease_s: float, progress: int | None = None
) -> bool:
    """Extends the lease; False where the run is no longer ours (lost, cancelled or overdue)."""
    values: dict[str, Any] = {"lease_until": now_of(session) + lease_s * _S}
    if progress is not None:
        values["progress"] = progress
    return _owned(session, run_id, fence, values)


def finish(session: Session, run_id: str, *, fence: int) -> None:
    """Marks the run ready; add what it made to the same session. Raises LostLease where it is no longer ours."""
    values = {"state": "ready", "progress": 100, "lease_until": None, "finished_at": now_of(session)}
    if not _owned(session, run_id, fence, values):
        raise LostLease(run_id)
    tell_of_plan(session, session.get_one(Run, run_id), "ready")


def finish_plan(
    session: Session,
    claimed: Claim,
    *,
    plan: dict[str, Any],
    drawings: dict[str, bytes],
    parts: dict[str, dict[str, Any]] | None = None,
) -> None:
    """Stores a plan, its drawings and what was computed beside it, and marks the run ready.

    Raises LostLease where it is no longer ours.
    """
    run = claimed.run
    finish(session, run.id, fence=claimed.fence)
    session.add(Plan(run_id=run.id, account_id=run.account_id, body=plan))
    session.add_all(
        Drawing(run_id=run.id, surface=surface, account_id=run.account_id, svg=svg)
        for surface, svg in drawings.items()
    )
    session.add_all(
        PlanPart(run_id=run.id, name=name, account_id=run.account_id, body=body)
        for name, body in (parts or {}).items()
    )
    session.flush()


def fail(session: Session, run_id: str, *, fence: int, problem: Problem) -> None:
    """Ends the run with a problem, for good. Raises LostLease where it is no longer ours."""
    values = {
        "state": "failed",
        "problem": dump(problem),
        "lease_until": None,
        "finished_at": now_of(session),
    }
    if not _owned(session, run_id, fence, values):
        raise LostLease(run_id)
    tell_of_plan(session, session.get_one(Run, run_id), "failed")


def give_back(session: Session, run_id: str, *, fence: int, problem: Problem, retry_delay_s: float) -> str:
    """After an error that may pass: queued again with growing delay, or failed where the attempts are used up.

    Returns:
        The state it has now. Raises LostLease where it is no longer ours.
    """
    run = session.get(Run, run_id, populate_existing=True)
    if run is None or run.fence != fence or run.state != "running":
        raise LostLease(run_id)
    if run.attempt >= run.max_attempts:
        fail(session, run_id, fence=fence, problem=problem)
        return "failed"
    values = _queued_again(now_of(session), run.attempt, retry_delay_s)
    if not _owned(session, run_id, fence, values):
        raise LostLease(run_id)
    return "queued"


def sweep(session: Session, *, retry_delay_s: float, redispatch_s: float, judge_leases: bool = True) -> Swept:
    """Looks after every run nobody is doing: expired leases, passed deadlines, announcements that were lost.

    Safe to run from several places at once; each row is changed under the state it was found in. Without
    `judge_leases` no worker is taken for dead.
    """
    now = now_of(session)
    swept = Swept()
    if judge_leases:
        _take_from_the_dead(session, now, swept, retry_delay_s)
    overdue = session.scalars(
        update(Run)
        .where(Run.state.in_(("queued", "running")), Run.deadline_at <= now)
        .values(fence=Run.fence + 1, **_ended(now, _OVERDUE))
        .returning(Run)
        .execution_options(synchronize_session=False, populate_existing=True)
    ).all()
    for run in overdue:
        tell_of_plan(session, run, "failed")
    swept.overdue += [run.id for run in overdue]
    swept.announced_again += session.scalars(
        update(Run)
        .where(Run.state == "queued", Run.dispatched_at < now - redispatch_s * _S)
        .values(dispatched_at=None)
        .returning(Run.id)
        .execution_options(synchronize_session=False)
    ).all()
    return swept


def _take_from_the_dead(session: Session, now: datetime.datetime, swept: Swept, retry_delay_s: float) -> None:
    for run in session.scalars(
        select(Run).where(Run.state == "running", Run.lease_until < now).with_for_update(skip_locked=True)
    ).all():
        if run.attempt >= run.max_attempts:
            if _owned(session, run.id, run.fence, _ended(now, _quarantined(run.attempt))):
                swept.quarantined.append(run.id)
                tell_of_plan(session, run, "failed")
        elif _owned(session, run.id, run.fence, _queued_again(now, run.attempt, retry_delay_s)):
            swept.requeued.append(run.id)


def _owned(session: Session, run_id: str, fence: int, values: dict[str, Any]) -> bool:
    changed = session.execute(
        update(Run)
        .where(Run.id == run_id, Run.fence == fence, Run.state == "running")
        .values(**values)
        .execution_options(synchronize_session=False)
    )
    return bool(changed.rowcount)  # type: ignore[attr-defined]


def _queued_again(now: datetime.datetime, attempt: int, retry_delay_s: float) -> dict[str, Any]:
    return {
        "state": "queued",
        "lease_until": None,
        "worker": None,
        "dispatched_at": None,
        "progress": 0,
        "fence": Run.fence + 1,
        "not_before": now + retry_delay_s * 2 ** (attempt - 1) * _S,
    }


def _ended(now: datetime.datetime, problem: Problem) -> dict[str, Any]:
    return {"state": "failed", "problem": dump(problem), "lease_until": None, "finished_at": now}


def _quarantined(attempts: int) -> Problem:
    return Problem(
        type="/problems/run_quarantined",
        title="The work was put aside",
        status=500,
        code="run_quarantined",
        detail=(
            f"The worker doing it died {attempts} times, so it is not tried again by itself. "
            "Retry it; if it happens again, tell us the run's id."
        ),
    )


_OVERDUE = Problem(
    type="/problems/run_overdue",
    title="The work was not done in time",
    status=503,
    code="run_overdue",
    detail="Its deadline passed before a worker could finish it. Retry it.",
)
