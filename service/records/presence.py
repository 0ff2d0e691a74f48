"""Who of our processes is alive."""

from __future__ import annotations

import datetime

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from service.records.store import now_of
from service.records.tables import Presence
from service.records.upsert import insert_unless_there


def heard_from(session: Session, *, name: str, kind: str) -> None:
    """Notes that the process `name` (a ``worker`` or ``scheduler``) is alive now."""
    now = now_of(session)
    if not insert_unless_there(session, Presence, name=name, kind=kind, seen_at=now):
        session.execute(update(Presence).where(Presence.name == name).values(kind=kind, seen_at=now))


def gone(session: Session, *, name: str) -> None:
    """Notes that the process ended in good order."""
    session.execute(delete(Presence).where(Presence.name == name))


def alive(session: Session, *, kind: str, within_s: float = 20) -> int:
    """How many processes of the kind were heard from in the last seconds."""
    since = now_of(session) - datetime.timedelta(seconds=within_s)
    return (
        session.scalar(
            select(func.count()).select_from(Presence).where(Presence.kind == kind, Presence.seen_at >= since)
        )
        or 0
    )


def forget_old(session: Session, *, older_than_s: float = 3600) -> None:
    """Removes processes not heard from for long."""
    since = now_of(session) - datetime.timedelta(seconds=older_than_s)
    session.execute(delete(Presence).where(Presence.seen_at < since))
