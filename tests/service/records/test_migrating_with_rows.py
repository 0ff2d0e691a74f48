"""A database that is in use keeps its rows, and what refers to them, when a table is made anew."""

# ruff: noqa: S608 - nothing but constants

from collections.abc import Callable

import pytest
import sqlalchemy as sa
from alembic import command

from service.records.migrate import _config, migrate
from service.records.store import Store

_NOW = "2026-01-02 03:04:05+00"


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_rows_of_a_table_made_anew_are_kept(empty_url: Callable[[str], str], kind: str) -> None:
    store = Store(empty_url(kind), pooled=False)
    with store.migrating() as session:
        configured = _config()
        configured.attributes["connection"] = session.connection()
        command.upgrade(configured, "0002")
        for statement in (
            f"INSERT INTO account VALUES ('acc', 'contractor', NULL, '{{}}', 1, '{_NOW}')",
            "INSERT INTO job (id, account_id, reference, title, revision, version, created_at, updated_at)"
            f" VALUES ('job', 'acc', 'R', '', 1, 1, '{_NOW}', '{_NOW}')",
            "INSERT INTO run (id, account_id, kind, job_id, revision, state, priority, attempt, max_attempts, fence,"
            " not_before, deadline_at, progress, snapshots, created_at) VALUES"
            f" ('run', 'acc', 'plan', 'job', 1, 'ready', 0, 1, 3, 1, '{_NOW}', '{_NOW}', 100, '{{}}', '{_NOW}')",
            "INSERT INTO plan (run_id, account_id, body) VALUES ('run', 'acc', '{}')",
        ):
            session.execute(sa.text(statement))
    migrate(store)
    with store.reading() as session:
        assert session.execute(sa.text("SELECT id, job_id FROM run")).all() == [("run", "job")]
        assert session.execute(sa.text("SELECT run_id FROM plan")).all() == [("run",)]
    with pytest.raises(sa.exc.IntegrityError), store.writing() as session:
        session.execute(sa.text("INSERT INTO plan (run_id, account_id, body) VALUES ('none', 'acc', '{}')"))


def test_a_step_that_leaves_rows_referring_to_nothing_is_not_kept(empty_url: Callable[[str], str]) -> None:
    store = Store(empty_url("sqlite"), pooled=False)
    migrate(store)
    with pytest.raises(RuntimeError), store.migrating() as session:
        session.execute(sa.text("INSERT INTO plan (run_id, account_id, body) VALUES ('none', 'none', '{}')"))
    with store.reading() as session:
        assert session.execute(sa.text("SELECT run_id FROM plan")).all() == []
