"""Jobs and their revisions."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.records.errors import NotFound, Stale
from service.records.ids import new_id
from service.records.paging import Place, newest_first
from service.records.store import now_of
from service.records.tables import Job, JobRevision


def create_job(session: Session, account_id: str, body: dict[str, Any]) -> Job:
    """Stores a job at revision 1. `body` is the JSON of a loaded `api_schema.job.Job`.

    To plan it, call `runs.queue_plan` in the same transaction.
    """
    now = now_of(session)
    job = Job(
        id=new_id("job"),
        account_id=account_id,
        reference=body["reference"],
        title=body.get("title", ""),
        revision=1,
        version=1,
        created_at=now,
        updated_at=now,
    )
    session.add(job)
    session.flush()
    session.add(JobRevision(job_id=job.id, revision=1, account_id=account_id, body=body, created_at=now))
    session.flush()
    return job


def get_job(session: Session, account_id: str, job_id: str) -> Job:
    """The job. Raises NotFound, also where it was deleted or is another's."""
    job = session.scalar(
        select(Job).where(Job.account_id == account_id, Job.id == job_id, Job.deleted_at.is_(None))
    )
    if job is None:
        raise NotFound("job")
    return job


def job_body(session: Session, account_id: str, job_id: str, revision: int) -> dict[str, Any]:
    """The JSON of a job at a revision, also of a deleted job. Raises NotFound."""
    found = session.scalar(
        select(JobRevision).where(
            JobRevision.account_id == account_id,
            JobRevision.job_id == job_id,
            JobRevision.revision == revision,
        )
    )
    if found is None:
        raise NotFound("job revision")
    return found.body


def list_jobs(
    session: Session,
    account_id: str,
    *,
    limit: int,
    after: Place | None = None,
    reference: str | None = None,
    words: str | None = None,
) -> list[Job]:
    """The account's jobs, newest first; `after` is (created_at, id) of the last one seen.

    `reference` is that of the job to the letter; `words` stand somewhere in its reference or title. Ask for one
    more than a page to know whether another follows.
    """
    query = select(Job).where(Job.account_id == account_id, Job.deleted_at.is_(None))
    if reference is not None:
        query = query.where(Job.reference == reference)
    if words is not None:
        query = query.where(
            Job.reference.icontains(words, autoescape=True) | Job.title.icontains(words, autoescape=True)
        )
    return list(session.scalars(newest_first(query, Job.created_at, Job.id, limit=limit, after=after)))


def revise_job(
    session: Session, account_id: str, job_id: str, body: dict[str, Any], *, if_version: int
) -> Job:
    """Stores a new revision. Raises NotFound, or Stale where the job's version is no longer `if_version`."""
    job = get_job(session, account_id, job_id)
    now = now_of(session)
    changed = session.execute(
        update(Job)
        .where(Job.id == job_id, Job.version == if_version)
        .values(
            reference=body["reference"],
            title=body.get("title", ""),
            revision=Job.revision + 1,
            version=Job.version + 1,
            updated_at=now,
        )
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale("job")
    session.refresh(job)
    session.add(
        JobRevision(job_id=job_id, revision=job.revision, account_id=account_id, body=body, created_at=now)
    )
    session.flush()
    return job


def delete_job(session: Session, account_id: str, job_id: str, *, if_version: int) -> None:
    """Hides the job; what was issued from it stays. Raises NotFound or Stale."""
    get_job(session, account_id, job_id)
    changed = session.execute(
        update(Job)
        .where(Job.id == job_id, Job.version == if_version)
        .values(deleted_at=now_of(session), version=Job.version + 1)
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale("job")
