"""The logo on an account's documents: one at a time; those that documents were made with are kept with them."""

from __future__ import annotations

import hashlib

from sqlalchemy import delete
from sqlalchemy.orm import Session

from service.records.errors import NotFound
from service.records.store import now_of
from service.records.tables import Blob, Setting
from service.records.upsert import insert_unless_there

_NAME = "logo"


def put_logo(session: Session, account_id: str, content: bytes) -> str:
    """Takes a PNG for the account's logo in place of the one before; gives its SHA-256."""
    sha256 = hashlib.sha256(content).hexdigest()
    insert_unless_there(session, Blob, account_id=account_id, sha256=sha256, content=content)
    before = session.get(Setting, (account_id, _NAME))
    version = 1 if before is None else before.version + 1
    session.merge(
        Setting(
            account_id=account_id,
            name=_NAME,
            body={"sha256": sha256},
            version=version,
            updated_at=now_of(session),
        )
    )
    session.flush()
    return sha256


def get_logo(session: Session, account_id: str) -> tuple[bytes, str]:
    """The PNG and its SHA-256. Raises NotFound where the account has none."""
    named = logo_now(session, account_id)
    if not named:
        raise NotFound("logo")
    return kept_logo(session, account_id, named[_NAME]), named[_NAME]


def remove_logo(session: Session, account_id: str) -> None:
    """From now on documents show the firm's name instead; doing so twice changes nothing."""
    session.execute(delete(Setting).where(Setting.account_id == account_id, Setting.name == _NAME))


def logo_now(session: Session, account_id: str) -> dict[str, str]:
    """What a run keeps of it: {"logo": sha256}, or nothing where there is none."""
    row = session.get(Setting, (account_id, _NAME))
    return {} if row is None else {_NAME: row.body["sha256"]}


def kept_logo(session: Session, account_id: str, sha256: str | None) -> bytes:
    """The PNG kept under that hash; empty for None. Raises NotFound."""
    if sha256 is None:
        return b""
    blob = session.get(Blob, (account_id, sha256))
    if blob is None:
        raise NotFound("logo")
    return blob.content
