"""What plans took off stock and what was left over."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class SettledPlan(Base):
    """A plan whose rolls were taken off stock and whose offcuts were kept: done once."""

    __tablename__ = "settled_plan"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    created_at: Mapped[datetime.datetime]


class SpokenFor(Base):
    """What the job of a plan counts on of the stock since its orders were made; see `service.records.spoken_for`.

    `body` has `products` (by code: kind, content of a piece, what is drawn from stock and needed in the unit of order
    lines), `offcuts` ([product, length_mm, width_mm, count]) and what `came` by its orders (by code).
    """

    __tablename__ = "spoken_for"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    body: Mapped[dict[str, Any]]
    created_at: Mapped[datetime.datetime]


class Offcut(Base):
    """An offcut in the ledger. What is on hand stands in the price book; here is where it came from and went."""

    __tablename__ = "offcut"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    product: Mapped[str]
    length_mm: Mapped[int]
    width_mm: Mapped[int]
    from_job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))  # null: written into the price book
    used_by_job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))
    created_at: Mapped[datetime.datetime]
    used_at: Mapped[datetime.datetime | None]
