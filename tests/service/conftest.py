"""An empty, migrated SQLite file, made once; each test takes a copy."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.records.migrate import migrate
from service.records.store import Store


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("template") / "empty.db"
    store = Store(f"sqlite:///{file}", pooled=False)
    migrate(store)
    with store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    store.close()
    return file
