"""Many jobs sent in one request."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Batch(Base):
    """Many jobs sent in one request."""

    __tablename__ = "batch"
    __table_args__ = (
        Index(None, "account_id", "created_at", "id"),
        Index(
            "ix_batch_unfinished",
            "created_at",
            postgresql_where=text("finished_at IS NULL"),
            sqlite_where=text("finished_at IS NULL"),
        ),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    reference: Mapped[str]
    total: Mapped[int]
    created_at: Mapped[datetime.datetime]
    finished_at: Mapped[datetime.datetime | None]


class BatchItem(Base):
    """One job of a batch: the job it became, or why it became none."""

    __tablename__ = "batch_item"
    batch_id: Mapped[str] = mapped_column(ForeignKey("batch.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    account_id: Mapped[str] = owner(index=True)
    reference: Mapped[str]
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"), index=True)
    problem: Mapped[dict[str, Any] | None]  # api_schema.problem.Problem
