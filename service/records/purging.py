"""Removed things are hidden first and purged once they have been kept long enough, with all that hangs on them.

What hangs on a job is found by the tables themselves: whatever refers to a row that goes, goes with it, so that no
table can be forgotten; what outlives a job, and forgets it, stands in `OUTLIVES`.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Select, Table, delete, exists, false, or_, select, update
from sqlalchemy.orm import Session

from service.records.store import now_of
from service.records.tables import Base, Blob, Document, Job, ModelFile, Order, PressureTest, Quote, Run

OUTLIVES = frozenset({"offcut.from_job_id", "offcut.used_by_job_id", "batch_item.job_id"})
"""References that are emptied: the ledger of offcuts and the list of a batch stay, without the job."""
MOST_AT_ONCE = 50

Days = int


@dataclass(frozen=True, slots=True)
class Purged:
    """What went."""

    jobs: tuple[str, ...]
    tests: tuple[str, ...]
    rows: dict[str, int]
    """By table; those with none are left out."""


def due(
    session: Session, *, keep_removed: Days, keep_issued: Days, most: int = MOST_AT_ONCE
) -> tuple[list[str], list[str]]:
    """Removed jobs and fan tests that have been kept long enough, the longest removed first; at most `most` of each.

    A job that a quote was issued or an order placed from is kept `keep_issued` days from its removal, others
    `keep_removed`. One that something is still being done for is not due.
    """
    now = now_of(session)
    removed_before = now - datetime.timedelta(days=keep_removed)
    issued_before = now - datetime.timedelta(days=keep_issued)
    issued = or_(
        exists().where(Quote.job_id == Job.id, Quote.state != "draft"),
        exists().where(Order.job_id == Job.id, Order.state != "draft"),
    )
    busy = exists().where(Run.job_id == Job.id, Run.state.in_(("queued", "running")))
    jobs = session.scalars(
        select(Job.id)
        .where(Job.deleted_at < removed_before, or_(Job.deleted_at < issued_before, ~issued), ~busy)
        .order_by(Job.deleted_at, Job.id)
        .limit(most)
    ).all()
    under_way = exists().where(
        or_(Run.id == PressureTest.run_id, Run.subject_id == PressureTest.id),
        Run.state.in_(("queued", "running")),
    )
    tests = session.scalars(
        select(PressureTest.id)
        .where(PressureTest.deleted_at < removed_before, ~under_way)
        .order_by(PressureTest.deleted_at, PressureTest.id)
        .limit(most)
    ).all()
    return list(jobs), list(tests)


def purge(session: Session, *, keep_removed: Days, keep_issued: Days, most: int = MOST_AT_ONCE) -> Purged:
    """Removes what is `due` for good: up to `most` jobs and tests, so that no transaction is long."""
    jobs, alone = due(session, keep_removed=keep_removed, keep_issued=keep_issued, most=most)
    if not jobs and not alone:
        return Purged((), (), {})
    tests = session.scalars(
        select(PressureTest.id).where(or_(PressureTest.job_id.in_(jobs), PressureTest.id.in_(alone)))
    ).all()
    runs_of_tests = session.scalars(  # looked up now, since a test goes before the run it names
        select(Run.id).where(
            or_(
                Run.subject_id.in_(tests),
                Run.id.in_(select(PressureTest.run_id).where(PressureTest.id.in_(tests))),
            )
        )
    ).all()
    going = _going(
        {
            "job": Job.id.in_(jobs),
            "pressure_test": PressureTest.id.in_(tests),
            "run": Run.id.in_(runs_of_tests),
            "document": Document.subject_id.in_(tests),
        }
    )
    files = session.execute(
        select(Document.account_id, Document.sha256).where(going["document"]).distinct()
    ).all()
    rows: dict[str, int] = {}
    for table in reversed(Base.metadata.sorted_tables):
        _forget(session, table, going)
        if table.name in going:
            done = session.execute(delete(table).where(going[table.name]))
            rows[table.name] = done.rowcount  # type: ignore[attr-defined]
    rows["blob"] = _drop_files(session, [(account, sha256) for account, sha256 in files])
    return Purged(tuple(jobs), tuple(alone), {name: count for name, count in sorted(rows.items()) if count})


def _going(first: dict[str, ColumnElement[bool]]) -> dict[str, ColumnElement[bool]]:
    """Which rows of which tables go: those named, and those that refer to them, as far as that reaches."""
    going: dict[str, ColumnElement[bool]] = {}
    for table in Base.metadata.sorted_tables:
        reasons = [first[table.name]] if table.name in first else []
        reasons += [
            key.parent.in_(select(key.column).where(going[key.column.table.name]))
            for key in sorted(table.foreign_keys, key=lambda key: key.parent.name)
            if key.column.table.name in going and f"{table.name}.{key.parent.name}" not in OUTLIVES
        ]
        if reasons:
            going[table.name] = or_(false(), *reasons)
    return going


def _forget(session: Session, table: Table, going: dict[str, ColumnElement[bool]]) -> None:
    for key in table.foreign_keys:
        if f"{table.name}.{key.parent.name}" in OUTLIVES:
            gone: Select[tuple[str]] = select(key.column).where(going[key.column.table.name])
            session.execute(update(table).where(key.parent.in_(gone)).values({key.parent.name: None}))


def _drop_files(session: Session, files: Sequence[tuple[str, str]]) -> int:
    """Removes the bytes that nothing refers to any more."""
    count = 0
    for account_id, sha256 in files:
        still = or_(
            exists().where(Document.account_id == account_id, Document.sha256 == sha256),
            exists().where(ModelFile.account_id == account_id, ModelFile.sha256 == sha256),
        )
        done = session.execute(
            delete(Blob)
            .where(Blob.account_id == account_id, Blob.sha256 == sha256, ~still)
            .execution_options(synchronize_session=False)
        )
        count += done.rowcount  # type: ignore[attr-defined]
    return count
