"""Leaks found on jobs while the fan ran."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.ids import new_id
from service.records.jobs import get_job
from service.records.runs import latest_ready_run, queue_render, render_of
from service.records.store import now_of
from service.records.tables import Drawing, Leak

MOST_OF_A_JOB = 1000
DRAWINGS = "drawings"  # what a render run is asked for to draw a plan's surfaces again


def note_leaks(
    session: Session,
    account_id: str,
    job_id: str,
    notes: Sequence[dict[str, Any]],
    *,
    test_id: str | None = None,
) -> list[Leak]:
    """Stores leaks of a job and queues its drawings anew. `notes` are JSON of loaded `LeakNote` records.

    Raises:
        NotFound: no such job.
        NotPossibleNow: the job has as many as it may (`too_many_leaks`).
    """
    get_job(session, account_id, job_id)
    if not notes:
        return []
    if len(list_leaks(session, account_id, job_id)) + len(notes) > MOST_OF_A_JOB:
        raise NotPossibleNow("too_many_leaks", f"A job may have {MOST_OF_A_JOB} leaks noted at most.")
    now = now_of(session)
    noted = [
        Leak(id=new_id("lek"), account_id=account_id, job_id=job_id, test_id=test_id, body=note, version=1,
            created_at=now + datetime.timedelta(microseconds=place))  # so that they keep their order
        for place, note in enumerate(notes)
    ]  # fmt: skip
    session.add_all(noted)
    session.flush()
    draw_again(session, account_id, job_id)
    return noted


def list_leaks(session: Session, account_id: str, job_id: str) -> list[Leak]:
    """Every leak noted on a job, oldest first. Raises NotFound for the job."""
    get_job(session, account_id, job_id)
    return leaks_of(session, account_id, job_id)


def leaks_of(session: Session, account_id: str, job_id: str) -> list[Leak]:
    """The same for a job that may have been removed."""
    return list(
        session.scalars(
            select(Leak)
            .where(Leak.account_id == account_id, Leak.job_id == job_id)
            .order_by(Leak.created_at, Leak.id)
        )
    )


def versions_of(session: Session, account_id: str, job_id: str) -> list[tuple[str, int]]:
    """(id, version) of every leak of a job: alike as long as its drawings need not be made anew."""
    return [(leak.id, leak.version) for leak in leaks_of(session, account_id, job_id)]


def draw_surfaces(session: Session, account_id: str, run_id: str, drawings: dict[str, bytes]) -> None:
    """Puts other drawings of its surfaces beside the plan of a run."""
    for surface, svg in drawings.items():
        session.execute(
            update(Drawing)
            .where(Drawing.account_id == account_id, Drawing.run_id == run_id, Drawing.surface == surface)
            .values(svg=svg)
            .execution_options(synchronize_session=False)
        )


def get_leak(session: Session, account_id: str, job_id: str, leak_id: str) -> Leak:
    """One leak of a job. Raises NotFound."""
    get_job(session, account_id, job_id)
    leak = session.scalar(
        select(Leak).where(Leak.account_id == account_id, Leak.job_id == job_id, Leak.id == leak_id)
    )
    if leak is None:
        raise NotFound("leak")
    return leak


def change_leak(
    session: Session, account_id: str, job_id: str, leak_id: str, body: dict[str, Any], *, if_version: int
) -> Leak:
    """Stores a leak as it now is, sealed perhaps, and queues the drawings anew. Raises NotFound or Stale."""
    leak = get_leak(session, account_id, job_id, leak_id)
    changed = session.execute(
        update(Leak)
        .where(Leak.id == leak_id, Leak.version == if_version)
        .values(body=body, version=Leak.version + 1)
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale("leak")
    session.refresh(leak)
    draw_again(session, account_id, job_id)
    return leak


def forget_leaks_of_test(session: Session, account_id: str, test_id: str) -> None:
    """Removes the leaks that came with a test, and queues the drawings of their job anew."""
    gone = session.scalars(
        delete(Leak).where(Leak.account_id == account_id, Leak.test_id == test_id).returning(Leak.job_id)
    ).all()
    for job_id in sorted(set(gone)):
        draw_again(session, account_id, job_id)


def draw_again(session: Session, account_id: str, job_id: str) -> None:
    """Queues the drawings of the job's newest ready plan; one that waits already will show these leaks too."""
    run = latest_ready_run(session, account_id, job_id)
    if run is None:
        return
    last = render_of(session, account_id, kind=DRAWINGS, subject_id=run.id)
    if last is None or last.state != "queued":
        queue_render(session, account_id, of=run, document_kind=DRAWINGS, subject_id=run.id)
