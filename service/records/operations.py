"""What those who run the service look at and do: figures, the quarantine, runs tried again. Asks for no account."""

from __future__ import annotations

import datetime

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session

from service.records.errors import NotFound, NotPossibleNow
from service.records.ledger import PUT_ASIDE
from service.records.store import now_of
from service.records.tables import Document, Run

LATELY = datetime.timedelta(minutes=10)
_JUST_NOW = datetime.timedelta(minutes=1)
_MOST = 5000


def took_lately(session: Session) -> dict[str, tuple[int, float, float]]:
    """Runs ready in the last minutes by kind: how many, mean seconds of work, mean seconds from being asked for."""
    rows = session.execute(
        select(Run.kind, Run.created_at, Run.started_at, Run.finished_at)
        .where(Run.finished_at >= now_of(session) - LATELY, Run.state == "ready")
        .limit(_MOST)
    )
    sums: dict[str, tuple[int, float, float]] = {}
    for kind, created_at, started_at, finished_at in rows:
        count, working, total = sums.get(kind, (0, 0.0, 0.0))
        worked = finished_at - (started_at or created_at)
        total += (finished_at - created_at).total_seconds()
        sums[kind] = (count + 1, working + worked.total_seconds(), total)
    return {kind: (count, working / count, total / count) for kind, (count, working, total) in sums.items()}


def counts_by_state(session: Session) -> dict[tuple[str, str], int]:
    """Runs of every account by (kind, state)."""
    rows = session.execute(select(Run.kind, Run.state, func.count()).group_by(Run.kind, Run.state))
    return {(kind, state): count for kind, state, count in rows}


def queue_age_s(session: Session) -> float:
    """Seconds the longest waiting run has waited; 0 where none waits."""
    oldest = session.scalar(select(func.min(Run.not_before)).where(Run.state == "queued"))
    return 0.0 if oldest is None else max(0.0, (now_of(session) - oldest).total_seconds())


def relay_lag_s(session: Session) -> float:
    """Seconds in which the relay announced no run of a kind although some wait and none is announced; else 0.

    A long queue is no lag: what has been announced and not begun waits for a worker.
    """
    now = now_of(session)
    waits = and_(Run.state == "queued", Run.dispatched_at.is_(None), Run.not_before <= now)
    lags_s = [0.0]
    for announced, oldest, last in session.execute(
        select(
            func.count().filter(Run.state == "queued", Run.dispatched_at.is_not(None)),
            func.min(Run.not_before).filter(waits),
            func.max(Run.dispatched_at),
        )
        .where(or_(Run.state.in_(("queued", "running")), Run.finished_at >= now - _JUST_NOW))
        .group_by(Run.kind)
    ):
        if oldest is not None and not announced:
            lags_s.append((now - max(oldest, last or oldest)).total_seconds())
    return max(lags_s)


def documents_by_kind(session: Session) -> dict[str, int]:
    """Documents of every account by kind."""
    return {  # noqa: C416
        kind: count
        for kind, count in session.execute(select(Document.kind, func.count()).group_by(Document.kind))
    }


def quarantined(session: Session, *, limit: int = 200) -> list[Run]:
    """Runs put aside after their last attempt by no fault of who sent them, newest first."""
    return list(
        session.scalars(
            select(Run).where(*_put_aside()).order_by(Run.finished_at.desc(), Run.id).limit(limit)
        )
    )


def count_quarantined(session: Session) -> int:
    """How many runs are put aside."""
    return session.scalar(select(func.count()).select_from(Run).where(*_put_aside())) or 0


def _put_aside() -> tuple[object, ...]:
    return Run.state == "failed", Run.problem["code"].as_string().in_(PUT_ASIDE)


def replay(session: Session, run_id: str) -> Run:
    """Queues a failed run of any kind again under its own name, with all its attempts before it.

    Raises:
        NotFound: no such run.
        NotPossibleNow: it has not failed (`run_not_failed`).
    """
    run = session.scalar(select(Run).where(Run.id == run_id).with_for_update())
    if run is None:
        raise NotFound("run")
    if run.state != "failed":
        raise NotPossibleNow("run_not_failed", f"The run is {run.state}; only a failed one is tried again.")
    now = now_of(session)
    run.deadline_at = now + (run.deadline_at - run.created_at)
    run.state, run.problem, run.attempt, run.fence, run.progress = "queued", None, 0, run.fence + 1, 0
    run.not_before, run.dispatched_at, run.lease_until, run.finished_at = now, None, None, None
    session.flush()
    return run
