"""Brings a database to the schema this code expects, step by step."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from service.records.store import Store

_STEPS = Path(__file__).parent / "migrations"


def migrate(store: Store) -> None:
    """Runs every step not yet run. Several processes may call it at once; one does the work, the others wait."""
    with store.migrating() as session:
        connection = session.connection()
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("SET LOCAL statement_timeout = 0")
            connection.exec_driver_sql("SET LOCAL lock_timeout = 0")
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock(7275001)")  # any number, ours alone
        configured = _config()
        configured.attributes["connection"] = connection
        command.upgrade(configured, "head")


def is_current(store: Store) -> bool:
    """Is the database at the schema this code expects?"""
    with store.reading() as session:
        context = MigrationContext.configure(session.connection())
        return context.get_current_revision() == ScriptDirectory.from_config(_config()).get_current_head()


def _config() -> Config:
    configured = Config()
    configured.set_main_option("script_location", str(_STEPS).replace("%", "%%"))
    configured.set_main_option("path_separator", "os")
    return configured
