"""Jobs with all their revisions, and what became of them on site."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Job(Base):
    """A job as it stands; `body` is `api_schema.job.Job` of the newest revision."""

    __tablename__ = "job"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    reference: Mapped[str]
    title: Mapped[str] = mapped_column(default="")
    revision: Mapped[int] = mapped_column(default=1)
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]
    updated_at: Mapped[datetime.datetime]
    deleted_at: Mapped[datetime.datetime | None]


class JobRevision(Base):
    """What a job said at each revision; never changed, so that old plans keep their meaning."""

    __tablename__ = "job_revision"
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    body: Mapped[dict[str, Any]]
    created_at: Mapped[datetime.datetime]


class RecordedHours(Base):
    """Hours of a finished job as the crew recorded them."""

    __tablename__ = "recorded_hours"
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    body: Mapped[dict[str, Any]]
    created_at: Mapped[datetime.datetime]


class FinishedJob(Base):
    """A job that is finished: what it used up left the stock, once."""

    __tablename__ = "finished_job"
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))  # the plan it was finished by
    body: Mapped[
        dict[str, Any]
    ]  # {"used": [api_schema.finish.UsedUp], "packs": [api_schema.finish.PacksUsed]}
    created_at: Mapped[datetime.datetime]
