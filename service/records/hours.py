"""Recorded hours of finished jobs."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.ids import new_id
from service.records.jobs import get_job
from service.records.store import now_of
from service.records.tables import RecordedHours


def record_hours(session: Session, account_id: str, job_id: str, body: dict[str, Any]) -> RecordedHours:
    """Stores hours of a job. Raises NotFound for the job."""
    get_job(session, account_id, job_id)
    recorded = RecordedHours(
        id=new_id("hrs"), account_id=account_id, job_id=job_id, body=body, created_at=now_of(session)
    )
    session.add(recorded)
    session.flush()
    return recorded


def list_hours(session: Session, account_id: str, job_id: str) -> list[RecordedHours]:
    """Every record of a job, oldest first. Raises NotFound for the job."""
    get_job(session, account_id, job_id)
    return list(
        session.scalars(
            select(RecordedHours)
            .where(RecordedHours.account_id == account_id, RecordedHours.job_id == job_id)
            .order_by(RecordedHours.created_at, RecordedHours.id)
        )
    )
