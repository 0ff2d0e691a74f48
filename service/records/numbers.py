"""Numbers without gaps: given out in the transaction that uses them, so one rolled back is given out again."""

from __future__ import annotations

from sqlalchemy import update
from sqlalchemy.orm import Session

from service.records.tables import Counter
from service.records.upsert import insert_unless_there


def next_number(session: Session, account_id: str, name: str, year: int) -> int:
    """1, 2, 3 … for each account, name and year. Others who want the next one wait for this transaction."""
    insert_unless_there(session, Counter, account_id=account_id, name=name, year=year, value=0)
    return session.execute(
        update(Counter)
        .where(Counter.account_id == account_id, Counter.name == name, Counter.year == year)
        .values(value=Counter.value + 1)
        .returning(Counter.value)
        .execution_options(synchronize_session=False)
    ).scalar_one()
