"""The migrations make exactly the tables the code expects."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from service.records.migrate import _config, is_current, migrate
from service.records.store import Store
from service.records.tables import Base

KINDS = pytest.mark.parametrize("kind", ["sqlite", "postgresql"])


def test_migrated_tables_match_the_code(store: Store) -> None:
    with store.reading() as session:
        context = MigrationContext.configure(session.connection(), opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
    assert is_current(store)


@KINDS
def test_an_empty_database_is_not_current_until_migrated(empty_url: Callable[[str], str], kind: str) -> None:
    store = Store(empty_url(kind), pooled=False)
    assert not is_current(store)
    migrate(store)
    assert is_current(store)


@KINDS
def test_several_processes_may_migrate_at_once(empty_url: Callable[[str], str], kind: str) -> None:
    url = empty_url(kind)
    with ThreadPoolExecutor(4) as pool:
        for done in [pool.submit(migrate, Store(url, pooled=False)) for _ in range(4)]:
            done.result()
    assert is_current(Store(url, pooled=False))


@KINDS
def test_every_step_can_be_taken_back(empty_url: Callable[[str], str], kind: str) -> None:
    store = Store(empty_url(kind), pooled=False)
    migrate(store)
    with store.writing() as session:
        configured = _config()
        configured.attributes["connection"] = session.connection()
        command.downgrade(configured, "base")
    with store.reading() as session:
        context = MigrationContext.configure(session.connection())
        left = [change for change in compare_metadata(context, Base.metadata) if change[0] == "add_table"]
        assert len(left) == len(Base.metadata.tables)
