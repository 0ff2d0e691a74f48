"""Finished jobs of an account: what was planned beside what the crew wrote down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.records.runs import get_plan, latest_ready_run
from service.records.tables import Job, RecordedHours

MOST_JOBS = 400  # the newest; what is older tells little of today's crew


@dataclass(frozen=True, slots=True)
class Finished:
    """One job with recorded hours; JSON of `api_schema.labour.Labour` and of each `api_schema.hours.Hours`."""

    job_id: str
    reference: str
    labour: dict[str, Any]
    hours: tuple[dict[str, Any], ...]


def finished_jobs(session: Session, account_id: str) -> list[Finished]:
    """Jobs with recorded hours and a ready plan, oldest first; the newest `MOST_JOBS` of them."""
    last = func.max(RecordedHours.created_at)
    newest = session.execute(
        select(RecordedHours.job_id)
        .join(Job, Job.id == RecordedHours.job_id)
        .where(RecordedHours.account_id == account_id, Job.account_id == account_id, Job.deleted_at.is_(None))
        .group_by(RecordedHours.job_id)
        .order_by(last.desc(), RecordedHours.job_id)
        .limit(MOST_JOBS)
    ).scalars()
    found = []
    for job_id in reversed(list(newest)):
        run = latest_ready_run(session, account_id, job_id)
        job = session.get(Job, job_id)
        if run is None or job is None:
            continue
        rows = session.scalars(
            select(RecordedHours)
            .where(RecordedHours.account_id == account_id, RecordedHours.job_id == job_id)
            .order_by(RecordedHours.created_at, RecordedHours.id)
        )
        labour = get_plan(session, account_id, run.id)["labour"]
        found.append(Finished(job_id, job.reference, labour, tuple(row.body for row in rows)))
    return found
