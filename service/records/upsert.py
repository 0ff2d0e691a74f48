"""Insert, or leave what is there: the same on SQLite and PostgreSQL."""

from __future__ import annotations

from typing import Any

from sqlalchemy import literal_column
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session


def insert_unless_there(session: Session, table: type[Any], **values: Any) -> bool:
    """Inserts the row; False where one with the same key stood there already (it is left alone).

    On PostgreSQL it waits for another transaction that is inserting the same key.
    """
    maker = sqlite.insert if session.get_bind().dialect.name == "sqlite" else postgresql.insert
    done = session.execute(
        maker(table).values(**values).on_conflict_do_nothing().returning(literal_column("1"))
    )
    return done.first() is not None  # a row count would be unknown (-1) where the insert is the ORM's
