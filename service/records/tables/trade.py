"""Quotes and orders, and the numbers they are given."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, Integer, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Counter(Base):
    """The last number given out, by account, purpose and year."""

    __tablename__ = "counter"
    account_id: Mapped[str] = owner(primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    year: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    value: Mapped[int]


class Quote(Base):
    """A priced offer; `body` is `api_schema.quote.Quote`, `state` and `version` move beside it.

    A draft has no number yet: its own public name stands in `number`, and `body` has none.
    """

    __tablename__ = "quote"
    __table_args__ = (
        UniqueConstraint("account_id", "number", "revision"),
        Index(None, "account_id", "created_at", "id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    number: Mapped[str]
    revision: Mapped[int]
    state: Mapped[str]
    body: Mapped[dict[str, Any]]
    issued_on: Mapped[datetime.date | None]
    valid_until: Mapped[datetime.date | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class QuoteBasis(Base):
    """What stands behind a quote and is not on it: the wish, what was priced anew, who answered and what they chose.

    `labour`, `order_lines` and `breakdown` are null where the plan's own hold.
    """

    __tablename__ = "quote_basis"
    quote_id: Mapped[str] = mapped_column(ForeignKey("quote.id"), primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    wish: Mapped[dict[str, Any]]  # api_schema.quote_wish.QuoteWish
    pricing_run_id: Mapped[str | None] = mapped_column(ForeignKey("run.id"))
    labour: Mapped[dict[str, Any] | None]
    order_lines: Mapped[list[Any] | None] = mapped_column(JSON(none_as_null=True))
    breakdown: Mapped[dict[str, Any] | None]
    answered_by: Mapped[str | None]
    answered_at: Mapped[datetime.datetime | None]
    chosen: Mapped[list[Any] | None] = mapped_column(JSON(none_as_null=True))  # codes of alternatives


class QuoteCombination(Base):
    """What stands behind a quote with a choice of its alternatives; that of none stands in its basis.

    `chosen` are their codes in the order of the quote, with commas between; its price is on the quote itself.
    """

    __tablename__ = "quote_combination"
    quote_id: Mapped[str] = mapped_column(ForeignKey("quote.id"), primary_key=True)
    chosen: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    labour: Mapped[dict[str, Any]]
    order_lines: Mapped[list[Any]] = mapped_column(JSON)
    breakdown: Mapped[dict[str, Any]]


class Order(Base):
    """The packs to buy from one supplier; `body` is `api_schema.order.Order`. One for each plan and supplier."""

    __tablename__ = "order_to_supplier"
    __table_args__ = (
        UniqueConstraint("account_id", "number"),
        UniqueConstraint("run_id", "supplier"),
        Index(None, "account_id", "created_at", "id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    number: Mapped[str]
    supplier: Mapped[str]
    state: Mapped[str]
    body: Mapped[dict[str, Any]]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]
