"""Bytes: documents that were rendered and models that were sent."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Blob(Base):
    """Bytes, kept once for each content and account."""

    __tablename__ = "blob"
    account_id: Mapped[str] = owner(primary_key=True)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)


class Document(Base):
    """A rendered document: stored, never changed. One for each kind and subject, so none is made twice."""

    __tablename__ = "document"
    __table_args__ = (
        UniqueConstraint("account_id", "kind", "subject_id"),
        Index(None, "job_id", "created_at", "id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))  # null for a fan test on no job
    kind: Mapped[str]
    subject_id: Mapped[str]  # the plan's run, the quote, the order or the fan test it shows
    filename: Mapped[str]
    media_type: Mapped[str]
    sha256: Mapped[str] = mapped_column(String(64))
    size: Mapped[int]
    created_at: Mapped[datetime.datetime]


class ModelFile(Base):
    """A designer's model that was sent, and the survey it proposes once its run is ready."""

    __tablename__ = "model_file"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    filename: Mapped[str]
    sha256: Mapped[str] = mapped_column(String(64))  # of its bytes, kept as a blob
    size: Mapped[int]
    reading: Mapped[dict[str, Any] | None]  # api_schema.model_reading.ModelReading
    created_at: Mapped[datetime.datetime]
