"""The database: one engine, and sessions that read or write.

SQLite runs in WAL mode with every commit on disk before it is answered, and every writing transaction begins with
BEGIN IMMEDIATE: a transaction that reads first and writes later would otherwise fail at once when another writer
came between (SQLite does not wait where a read snapshot must become a write).
"""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, func, select
from sqlalchemy.engine import make_url
from sqlalchemy.orm import Session
from sqlalchemy.pool import NullPool

_WRITES = "lapwise_writes"
_LOOKS = "lapwise_looks"


class Store:
    """A database and its sessions. Make one for each process, after forking."""

    def __init__(self, url: str, *, pool_size: int = 5, pooled: bool = True, statement_timeout_s: int = 10):
        """Opens nothing yet.

        Args:
            url: ``sqlite:///FILE`` or ``postgresql://…``.
            pool_size: connections kept open (PostgreSQL and SQLite alike).
            pooled: False opens a connection for each session and closes it after.
            statement_timeout_s: a PostgreSQL statement taking longer is ended.
        """
        self.engine = _engine(url, pool_size=pool_size, pooled=pooled, timeout_s=statement_timeout_s)
        self._writing_engine = self.engine.execution_options(**{_WRITES: True})
        alone: dict[str, Any] = (
            {_LOOKS: True} if self.engine.dialect.name == "sqlite" else {"isolation_level": "AUTOCOMMIT"}
        )
        self._looking_engine = self.engine.execution_options(**alone)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that only reads; sees one moment of the database on SQLite."""
        with Session(self.engine, expire_on_commit=False, autoflush=False) as session:
            yield session

    @contextmanager
    def looking(self) -> Iterator[Connection]:
        """A connection held to ask it the same short question often, each time by itself.

        Without a transaction each answer is of its own moment, and nothing is kept waiting between two. Where a question
        fails, leave the block and enter it anew: the connection may be dead.
        """
        with self._looking_engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session in a writing transaction: committed at the end, rolled back where anything is raised."""
        with Session(self._writing_engine, expire_on_commit=False) as session, session.begin():
            yield session

    @contextmanager
    def migrating(self) -> Iterator[Session]:
        """A writing session that may make tables anew: SQLite looks at foreign keys at its end alone.

        SQLite can only alter a table by copying it, and would take the rows that refer to the dropped one for lost.

        Raises:
            RuntimeError: rows refer to rows that are not there; nothing was changed.
        """
        with self._writing_engine.connect() as connection:
            sqlite_ = connection.dialect.name == "sqlite"
            opened: Any = connection.connection.driver_connection
            if sqlite_:
                opened.execute("PRAGMA foreign_keys=OFF")  # has no effect within a transaction
            try:
                with Session(connection, expire_on_commit=False) as session, session.begin():
                    yield session
                    if sqlite_ and session.connection().exec_driver_sql("PRAGMA foreign_key_check").first():
                        raise RuntimeError("a migration left rows that refer to nothing")
            finally:
                if sqlite_:
                    opened.execute("PRAGMA foreign_keys=ON")

    def after_fork(self) -> None:
        """Forgets the parent's connections without closing them; call first thing in a forked child."""
        self.engine.dispose(close=False)

    def close(self) -> None:
        """Closes every connection."""
        self.engine.dispose()


def now_of(session: Session) -> datetime.datetime:
    """The database's clock, in UTC. Leases and deadlines are judged by no other."""
    if (
        session.get_bind().dialect.name == "sqlite"
    ):  # SQLite lives on this machine, so has this machine's clock
        return datetime.datetime.now(datetime.UTC)
    moment: datetime.datetime = session.execute(select(func.clock_timestamp())).scalar_one()
    return moment.astimezone(datetime.UTC)


def normal_url(url: str) -> str:
    """The URL with the driver we bring: psycopg 3 for PostgreSQL."""
    for plain in ("postgres://", "postgresql://"):
        if url.startswith(plain):
            return "postgresql+psycopg://" + url.removeprefix(plain)
    return url


def _engine(url: str, *, pool_size: int, pooled: bool, timeout_s: int) -> Engine:
    parsed = make_url(normal_url(url))
    options: dict[str, Any] = (
        {"pool_size": pool_size, "max_overflow": pool_size, "pool_timeout": 5}
        if pooled
        else {"poolclass": NullPool}
    )
    if parsed.get_backend_name() == "sqlite":
        if parsed.database in (None, "", ":memory:"):
            raise ValueError("the database must be a file: sqlite:///FILE")
        Path(str(parsed.database)).parent.mkdir(parents=True, exist_ok=True)
        engine = create_engine(parsed, connect_args={"timeout": 10}, **options)
        event.listen(engine, "connect", _sqlite_opened)
        event.listen(engine, "begin", _sqlite_begins)
        return engine
    return create_engine(
        parsed,
        pool_pre_ping=True,
        pool_recycle=1800,
        connect_args={
            "connect_timeout": 3,
            "options": (
                f"-c statement_timeout={timeout_s}s -c lock_timeout=5s"
                " -c idle_in_transaction_session_timeout=30s -c timezone=UTC"
            ),
        },
        **options,
    )


def _sqlite_opened(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "busy_timeout=10000"):
        connection.execute(f"PRAGMA {pragma}")


def _sqlite_begins(connection: Any) -> None:
    options = connection.get_execution_options()
    if not options.get(_LOOKS, False):
        connection.exec_driver_sql("BEGIN IMMEDIATE" if options.get(_WRITES, False) else "BEGIN")
