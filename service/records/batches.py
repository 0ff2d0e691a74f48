"""Batches: many jobs stored and queued in one transaction, and how far they are.

How far is asked of the runs each time and never counted beside them, so it cannot differ from them.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, exists, func, select, update
from sqlalchemy.orm import Session, aliased

from api_schema.problem import Problem
from api_schema.shape import dump
from service.records.errors import NotFound
from service.records.events import tell
from service.records.ids import new_id
from service.records.own_values import keep_snapshots
from service.records.paging import Place, newest_first
from service.records.runs import DEADLINE_S, MAX_ATTEMPTS
from service.records.store import now_of
from service.records.tables import BATCH, Batch, BatchItem, Document, Job, JobRevision, Plan, Run


@dataclass(frozen=True, slots=True)
class Sent:
    """One job of a batch as it came: `body` (JSON of `api_schema.job.Job`), or the problem with it."""

    reference: str
    body: dict[str, Any] | None
    problem: Problem | None = None


def create_batch(
    session: Session, account_id: str, *, reference: str, sent: Sequence[Sent], traceparent: str | None = None
) -> Batch:
    """Stores the jobs and queues their plans behind everything interactive; what cannot be planned keeps its problem."""
    now = now_of(session)
    batch = Batch(
        id=new_id("bat"), account_id=account_id, reference=reference, total=len(sent), created_at=now
    )
    session.add(batch)
    session.flush()
    snapshots = keep_snapshots(session, account_id)
    deadline = now + datetime.timedelta(seconds=max(DEADLINE_S, DEADLINE_S * len(sent) // 100))
    jobs: list[Job] = []
    beside: list[JobRevision | Run] = []
    items: list[BatchItem] = []
    for position, one in enumerate(sent):
        job_id = None
        if one.body is not None:
            job_id = new_id("job")
            jobs.append(
                Job(
                    id=job_id, account_id=account_id, reference=one.body["reference"],
                    title=one.body.get("title", ""), revision=1, version=1, created_at=now, updated_at=now,
                )
            )  # fmt: skip
            beside.append(
                JobRevision(job_id=job_id, revision=1, account_id=account_id, body=one.body, created_at=now)
            )
            beside.append(
                Run(
                    id=new_id("run"), account_id=account_id, kind="plan", job_id=job_id, revision=1, state="queued",
                    priority=BATCH, attempt=0, max_attempts=MAX_ATTEMPTS, fence=0, progress=0, not_before=now,
                    created_at=now + datetime.timedelta(microseconds=position),  # so that they keep their order
                    deadline_at=deadline, snapshots=snapshots, traceparent=traceparent,
                )
            )  # fmt: skip
        items.append(
            BatchItem(
                batch_id=batch.id, position=position, account_id=account_id, reference=one.reference,
                job_id=job_id, problem=None if one.problem is None else dump(one.problem),
            )
        )  # fmt: skip
    for rows in (jobs, beside, items):
        session.add_all(rows)
        session.flush()
    return batch


def get_batch(session: Session, account_id: str, batch_id: str) -> Batch:
    """The batch. Raises NotFound."""
    batch = session.scalar(select(Batch).where(Batch.account_id == account_id, Batch.id == batch_id))
    if batch is None:
        raise NotFound("batch")
    return batch


def list_batches(session: Session, account_id: str, *, limit: int, after: Place | None = None) -> list[Batch]:
    """The account's batches, newest first."""
    query = select(Batch).where(Batch.account_id == account_id)
    return list(session.scalars(newest_first(query, Batch.created_at, Batch.id, limit=limit, after=after)))


def _newest_plans(batch_id: str) -> Any:
    """The newest plan run of each job of the batch."""
    ranked = (
        select(
            Run,
            func.row_number()
            .over(
                partition_by=Run.job_id,
                order_by=(Run.revision.desc(), Run.created_at.desc(), Run.id.desc()),
            )
            .label("place"),
        )
        .join(BatchItem, BatchItem.job_id == Run.job_id)
        .where(BatchItem.batch_id == batch_id, Run.kind == "plan")
        .subquery()
    )
    return aliased(Run, ranked), ranked.c.place


def counts_of(session: Session, batch_id: str) -> dict[str, int]:
    """Jobs by state: the states of a plan, and ``refused`` for those that could not be taken."""
    newest, place = _newest_plans(batch_id)
    rows = session.execute(
        select(newest.state, func.count())
        .select_from(BatchItem)
        .outerjoin(newest, (newest.job_id == BatchItem.job_id) & (place == 1))
        .where(BatchItem.batch_id == batch_id)
        .group_by(newest.state)
    )
    return {state or "refused": count for state, count in rows}


def documents_of(session: Session, batch_id: str) -> int:
    """How many documents of its jobs are stored."""
    return (
        session.scalar(
            select(func.count())
            .select_from(Document)
            .join(BatchItem, BatchItem.job_id == Document.job_id)
            .where(BatchItem.batch_id == batch_id)
        )
        or 0
    )


def list_items(
    session: Session, batch_id: str, *, limit: int, after: int = -1, last: int | None = None
) -> Sequence[Row[Any]]:
    """(item, newest plan run or None), in the order they were sent, after the position `after` up to `last`."""
    newest, place = _newest_plans(batch_id)
    query = (
        select(BatchItem, newest)
        .outerjoin(newest, (newest.job_id == BatchItem.job_id) & (place == 1))
        .where(BatchItem.batch_id == batch_id, BatchItem.position > after)
    )
    if last is not None:
        query = query.where(BatchItem.position <= last)
    return session.execute(query.order_by(BatchItem.position).limit(limit)).all()


def plans_of(session: Session, run_ids: Sequence[str]) -> Iterator[tuple[str, dict[str, Any]]]:
    """(run id, plan) of those that are ready, one at a time: plans are large."""
    for run_id in run_ids:
        body = session.scalar(select(Plan.body).where(Plan.run_id == run_id))
        if body is not None:
            yield run_id, body


def papers(
    session: Session, account_id: str, batch_id: str, *, kind: str | None, first: int, last: int
) -> Sequence[Row[Any]]:
    """(position, reference, document) of the jobs from position `first` to `last`, without their bytes."""
    query = (
        select(BatchItem.position, BatchItem.reference, Document)
        .join(Document, Document.job_id == BatchItem.job_id)
        .where(
            BatchItem.batch_id == batch_id,
            BatchItem.position >= first,
            BatchItem.position <= last,
            Document.account_id == account_id,
        )
    )
    if kind is not None:
        query = query.where(Document.kind == kind)
    return session.execute(query.order_by(BatchItem.position, Document.created_at, Document.id)).all()


def finish_batches(session: Session) -> list[str]:
    """Marks batches nothing is under way for any more, and tells their accounts; gives their ids.

    Under way are a job's runs of every kind, so documents are counted in. Safe to call from several places at once.
    """
    under_way = exists().where(
        BatchItem.batch_id == Batch.id, Run.job_id == BatchItem.job_id, Run.state.in_(("queued", "running"))
    )
    done = session.scalars(
        update(Batch)
        .where(Batch.finished_at.is_(None), ~under_way)
        .values(finished_at=now_of(session))
        .returning(Batch)
        .execution_options(synchronize_session=False, populate_existing=True)
    ).all()
    for batch in done:
        counts = counts_of(session, batch.id)
        tell(
            session,
            batch.account_id,
            "batch.finished",
            subject=f"/v1/batches/{batch.id}",
            data={"batch": batch.id, "total": batch.total, "counts": counts},
        )
    return [batch.id for batch in done]
