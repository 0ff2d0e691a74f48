"""Fan tests and the leaks found at them."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, Text
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class PressureTest(Base):
    """A fan test: the readings as sent, and what they mean once its run is ready.

    `prediction` is what the budget of the job's plan had expected (`api_schema.leakage.PredictedMeasured`).
    """

    __tablename__ = "pressure_test"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"), index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    reference: Mapped[str]
    body: Mapped[dict[str, Any]]  # api_schema.pressure_test.PressureTestInput
    result: Mapped[dict[str, Any] | None]  # api_schema.pressure_result.PressureTestResult
    prediction: Mapped[dict[str, Any] | None]
    table_csv: Mapped[str | None] = mapped_column(Text)
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]
    deleted_at: Mapped[datetime.datetime | None]


class Leak(Base):
    """A leak found on a job; `body` is `api_schema.pressure_test.LeakNote`."""

    __tablename__ = "leak"
    __table_args__ = (Index(None, "job_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"))
    test_id: Mapped[str | None] = mapped_column(ForeignKey("pressure_test.id"), index=True)
    body: Mapped[dict[str, Any]]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]
