"""The queue of record, what runs computed, and who was there to compute it."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary, text
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner

RUN_STATES = ("queued", "running", "ready", "failed", "cancelled")
ENDED = ("ready", "failed", "cancelled")
INTERACTIVE, PAPER, BATCH = 0, 2, 10
"""Priorities: each counts as that many turns later in its account's queue."""


class Run(Base):
    """One piece of work, and the queue of record: a plan of a job's revision, a document to be rendered, and so on.

    `kind` is ``plan``, ``render``, ``price``, ``analyse`` (the readings of a fan test) or ``read`` (a model). A
    render says what in `document_kind` (``site_pack``, ``quote``, ``order`` …) and of what in `subject_id` (the
    plan's run, the quote, the order). Work on no job has no `job_id`, and revision 0. `fence` counts the claims: only the holder
    of the newest may finish. `dispatched_at` is when a hint was last sent to the broker.
    """

    __tablename__ = "run"
    __table_args__ = (
        Index(
            "ix_run_waiting",
            "kind",
            "account_id",
            "priority",
            "created_at",
            "id",
            postgresql_where=text("state = 'queued'"),
            sqlite_where=text("state = 'queued'"),
        ),
        Index(
            "ix_run_running",
            "lease_until",
            postgresql_where=text("state = 'running'"),
            sqlite_where=text("state = 'running'"),
        ),
        Index(None, "job_id", "kind", "created_at"),
        Index(None, "account_id", "state"),
        Index(None, "finished_at"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    kind: Mapped[str]
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))
    revision: Mapped[int]
    document_kind: Mapped[str | None]
    subject_id: Mapped[str | None]
    state: Mapped[str]
    priority: Mapped[int] = mapped_column(default=INTERACTIVE)
    attempt: Mapped[int] = mapped_column(default=0)
    max_attempts: Mapped[int]
    fence: Mapped[int] = mapped_column(default=0)
    not_before: Mapped[datetime.datetime]
    dispatched_at: Mapped[datetime.datetime | None]
    lease_until: Mapped[datetime.datetime | None]
    deadline_at: Mapped[datetime.datetime]
    worker: Mapped[str | None]
    progress: Mapped[int] = mapped_column(default=0)  # hundredths
    problem: Mapped[dict[str, Any] | None]  # api_schema.problem.Problem where it failed
    snapshots: Mapped[dict[str, Any]]  # {"standard": sha256, "outputs", "price_book", "profile"}
    traceparent: Mapped[str | None]
    created_at: Mapped[datetime.datetime]
    started_at: Mapped[datetime.datetime | None]
    finished_at: Mapped[datetime.datetime | None]


class Plan(Base):
    """What a run computed; `body` is `api_schema.plan.Plan`."""

    __tablename__ = "plan"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    body: Mapped[dict[str, Any]]


class PlanPart(Base):
    """What was computed beside a plan: ``survey`` (`api_schema.job_survey`) and ``leakage`` (`api_schema.tested`)."""

    __tablename__ = "plan_part"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    body: Mapped[dict[str, Any]]


class Drawing(Base):
    """One surface of a plan, drawn; under ``_isometric`` the whole building, which no surface can be named."""

    __tablename__ = "drawing"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    surface: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    svg: Mapped[bytes] = mapped_column(LargeBinary)


class Presence(Base):
    """When a process of ours was last heard from."""

    __tablename__ = "presence"
    name: Mapped[str] = mapped_column(primary_key=True)
    kind: Mapped[str]  # worker | scheduler
    seen_at: Mapped[datetime.datetime]
