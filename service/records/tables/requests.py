"""What is kept so that a request that was sent twice is answered the same."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Repeat(Base):
    """An Idempotency-Key and, once there is one, the answer its first request got."""

    __tablename__ = "repeat"
    account_id: Mapped[str] = owner(primary_key=True)
    scope: Mapped[str] = mapped_column(primary_key=True)  # method and route
    key: Mapped[str] = mapped_column(primary_key=True)
    fingerprint: Mapped[str] = mapped_column(String(64))
    status: Mapped[int | None]
    headers: Mapped[dict[str, Any] | None]
    body: Mapped[str | None] = mapped_column(Text)
    expires_at: Mapped[datetime.datetime] = mapped_column(index=True)
