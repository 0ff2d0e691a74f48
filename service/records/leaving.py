"""An account taken out whole: everything of it as files, or everything of it removed.

Both go by the tables themselves: whatever has an `account_id` belongs to the account, so no table can be forgotten.
"""

from __future__ import annotations

import datetime
import json
import zipfile
from typing import IO, Any

from sqlalchemy import Table, delete, func, select
from sqlalchemy.orm import Session

from service.records.accounts import get_account
from service.records.errors import NotPossibleNow
from service.records.tables import Account, Base, Blob, Document

_SECRET = {"secret_sha256", "secret", "old_secret"}
_AS_FILES = {"blob"}  # their bytes stand under documents/ and blobs/


def tables_of_accounts() -> list[Table]:
    """Every table that belongs to accounts, those that refer to others after them."""
    return [table for table in Base.metadata.sorted_tables if "account_id" in table.columns]


def export(session: Session, account_id: str, file: IO[bytes]) -> int:
    """Writes everything of the account as a ZIP file: a JSON line for each row, and each stored file; gives the rows.

    Secrets of keys and hooks are left out. Raises NotFound.
    """
    account = get_account(session, account_id)
    rows = 0
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as made:
        about = {"id": account.id, "kind": account.kind, "created_at": account.created_at.isoformat()}
        made.writestr("account.json", json.dumps({**about, "profile": account.profile}, indent=1))
        for table in tables_of_accounts():
            if table.name in _AS_FILES:
                continue
            with made.open(f"{table.name}.jsonl", "w") as lines:
                for row in session.execute(select(table).where(table.c.account_id == account_id)).mappings():
                    lines.write(json.dumps(_plain(dict(row)), ensure_ascii=False).encode() + b"\n")
                    rows += 1
        names = {
            sha256: f"documents/{document_id}-{filename}"
            for sha256, document_id, filename in session.execute(
                select(Document.sha256, Document.id, Document.filename).where(
                    Document.account_id == account_id
                )
            )
        }
        for sha256 in session.scalars(select(Blob.sha256).where(Blob.account_id == account_id)).all():
            blob = session.get_one(Blob, (account_id, sha256))
            made.writestr(names.get(sha256, f"blobs/{sha256}"), blob.content)
            session.expunge(blob)
    return rows


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    return {name: _value(value) for name, value in row.items() if name not in _SECRET}


def _value(value: Any) -> Any:
    if isinstance(value, datetime.date | datetime.datetime):
        return value.isoformat()
    return value.decode("utf-8", errors="replace") if isinstance(value, bytes) else value


def remove(session: Session, account_id: str) -> dict[str, int]:
    """Removes the account and everything of it, for good; gives the rows removed by table.

    Raises:
        NotFound: no such account.
        NotPossibleNow: it is a merchant with trade customers (`has_customers`).
    """
    get_account(session, account_id)
    customers = session.scalar(
        select(func.count()).select_from(Account).where(Account.merchant_id == account_id)
    )
    if customers:
        raise NotPossibleNow(
            "has_customers",
            f"It is the merchant of {customers} trade customers; remove those accounts first.",
        )
    removed: dict[str, int] = {}
    for table in reversed(tables_of_accounts()):
        done = session.execute(delete(table).where(table.c.account_id == account_id))
        removed[table.name] = done.rowcount  # type: ignore[attr-defined]
    session.execute(delete(Account).where(Account.id == account_id))
    return removed
