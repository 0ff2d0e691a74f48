"""The audit trail, read back."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.paging import Place, newest_first
from service.records.tables import ApiKey, Audit


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry with the key it was done with. `id` and `created_at` place it in a list."""

    row: Audit
    key_name: str | None
    key_account: str | None

    @property
    def id(self) -> str:
        """Its public name."""
        return self.row.id

    @property
    def created_at(self) -> datetime.datetime:
        """When."""
        return self.row.at


def list_audit(
    session: Session,
    account_id: str,
    *,
    limit: int,
    after: Place | None = None,
    subject: str | None = None,
) -> list[Entry]:
    """What was done in the account, newest first; `after` is (at, id) of the last one seen."""
    query = (
        select(Audit, ApiKey.name, ApiKey.account_id)
        .outerjoin(ApiKey, ApiKey.id == Audit.key_id)
        .where(Audit.account_id == account_id)
    )
    if subject is not None:
        query = query.where(Audit.subject == subject)
    rows = session.execute(newest_first(query, Audit.at, Audit.id, limit=limit, after=after))
    return [Entry(row, name, owner) for row, name, owner in rows]
