"""Hooks, and what each was told."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Hook(Base):
    """An address of the account's that is told of events.

    `secret` signs what is sent, so it must be read back and cannot be kept as a hash: it is kept sealed
    (`service.records.sealing`). `old_secret` signs beside it until `old_secret_until`. `given_up_in_a_row` counts the
    events it did not take since the last it took; `stopped_because` says why we stopped telling it.
    """

    __tablename__ = "hook"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    url: Mapped[str] = mapped_column(Text)
    events: Mapped[list[str]]  # empty: all
    active: Mapped[bool]
    note: Mapped[str]
    secret: Mapped[str]
    old_secret: Mapped[str | None]
    old_secret_until: Mapped[datetime.datetime | None]
    stopped_because: Mapped[str | None]
    given_up_in_a_row: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class HookDelivery(Base):
    """One event to be told to one hook: written with what happened, sent afterwards. `event_id` never changes."""

    __tablename__ = "hook_delivery"
    __table_args__ = (
        Index(
            "ix_hook_delivery_waiting",
            "next_at",
            postgresql_where=text("state IN ('waiting', 'sending')"),
            sqlite_where=text("state IN ('waiting', 'sending')"),
        ),
        Index(None, "hook_id", "created_at", "id"),
        Index(None, "account_id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner()
    hook_id: Mapped[str] = mapped_column(ForeignKey("hook.id"))
    event_id: Mapped[str]
    event: Mapped[str]
    subject: Mapped[str]
    data: Mapped[dict[str, Any]]
    state: Mapped[str]  # waiting | sending | delivered | given_up
    attempt: Mapped[int] = mapped_column(default=0)
    tries: Mapped[int] = mapped_column(default=0)  # attempts since it was asked for (again)
    next_at: Mapped[datetime.datetime]  # while sending: when the sender is taken for dead
    give_up_at: Mapped[datetime.datetime]
    log: Mapped[list[Any]] = mapped_column(JSON)
    created_at: Mapped[datetime.datetime]
    ended_at: Mapped[datetime.datetime | None]
