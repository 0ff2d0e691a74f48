"""Idempotency-Key: the first answer again, kept in the same transaction as what it protects."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, select, update
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from service.records.errors import KeyReused, StillRunning
from service.records.store import now_of
from service.records.tables import Repeat
from service.records.upsert import insert_unless_there

KEPT = datetime.timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the first request was answered."""

    status: int
    headers: dict[str, Any]
    body: str


def begin_once(session: Session, account_id: str, *, scope: str, key: str, fingerprint: str) -> Answer | None:
    """None for the first request with this key: do the work, then `keep_answer`, all in this one transaction.

    For a repeat, the first one's answer. A first request that is rolled back leaves no trace, so a repeat of it is
    a first one.

    Args:
        session: a writing session.
        account_id: whose.
        scope: method and route, such as ``POST /v1/jobs``.
        key: the header's value without its quotes.
        fingerprint: SHA-256 in hex of what was sent.

    Raises:
        KeyReused: the key came with another body before.
        StillRunning: the first request has not been answered.
    """
    now = now_of(session)
    here = (Repeat.account_id == account_id, Repeat.scope == scope, Repeat.key == key)
    session.execute(delete(Repeat).where(*here, Repeat.expires_at <= now))
    try:
        first = insert_unless_there(
            session,
            Repeat,
            account_id=account_id,
            scope=scope,
            key=key,
            fingerprint=fingerprint,
            expires_at=now + KEPT,
        )
    except OperationalError as error:  # the lock of the first request's row was not given in time
        raise StillRunning(key) from error
    if first:
        return None
    row = session.scalar(select(Repeat).where(*here))
    if row is not None and row.fingerprint != fingerprint:
        raise KeyReused(key)
    if row is None or row.status is None:
        raise StillRunning(key)
    return Answer(row.status, row.headers or {}, row.body or "")


def keep_answer(session: Session, account_id: str, *, scope: str, key: str, answer: Answer) -> None:
    """Keeps the answer to the first request for 24 hours."""
    session.execute(
        update(Repeat)
        .where(Repeat.account_id == account_id, Repeat.scope == scope, Repeat.key == key)
        .values(status=answer.status, headers=answer.headers, body=answer.body)
    )


def forget(session: Session, account_id: str, *, scope: str, key: str) -> None:
    """Lets the key be used again: what it was for was not done."""
    session.execute(
        delete(Repeat).where(Repeat.account_id == account_id, Repeat.scope == scope, Repeat.key == key)
    )


def forget_old(session: Session) -> None:
    """Removes answers kept long enough."""
    session.execute(delete(Repeat).where(Repeat.expires_at <= now_of(session)))
