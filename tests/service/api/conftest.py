"""The real application over a real SQLite file; plans are made by the real engine, in this process."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from api_schema.job import Job
from api_schema.shape import dump, load
from service.app import create_app
from service.records import accounts, jobs, ledger, own_values, runs
from service.records.migrate import migrate
from service.records.store import Store
from service.settings import Settings
from tests.service.api.office import Office
from workers.engine.plan import plan_job


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("api") / "empty.db"
    store = Store(f"sqlite:///{file}", pooled=False)
    migrate(store)
    with store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    store.close()
    return file


@pytest.fixture
def settings(empty_database: Path, tmp_path: Path) -> Settings:
    shutil.copy(empty_database, tmp_path / "lapwise.db")
    return Settings(
        database_url=f"sqlite:///{tmp_path / 'lapwise.db'}",
        broker_url="redis://127.0.0.1:1/0",
        requests_per_minute=100_000,
    )


@pytest.fixture
def store(settings: Settings) -> Iterator[Store]:
    store = Store(settings.database_url, pool_size=10)
    yield store
    store.close()


@pytest.fixture
def app(settings: Settings, store: Store) -> Flask:
    return create_app(settings, store)


@pytest.fixture
def office_of(app: Flask, store: Store) -> Callable[..., Office]:
    def make(
        *,
        name: str = "Example Airtight Ltd",
        kind: Any = "contractor",
        scopes: tuple[str, ...] = ("read", "write", "admin"),
        account: str | None = None,
    ) -> Office:
        with store.writing() as session:
            owner = account or accounts.create_account(session, name=name, kind=kind).id
            secret = accounts.create_key(session, owner, name="test", scopes=scopes).secret
        return Office(app.test_client(), owner, secret)

    return make


@pytest.fixture
def office(office_of: Callable[..., Office]) -> Office:
    return office_of()


@pytest.fixture
def plan_now(store: Store) -> Callable[[Office, str], None]:
    """Does what a worker does with the newest plan run of a job: claims it, computes it, saves it."""

    def plan(office: Office, job_id: str) -> None:
        with store.writing() as session:
            run = runs.latest_run(session, office.account, job_id)
            assert run is not None
            claimed = ledger.claim(session, run.id, worker="test", lease_s=60)
            assert claimed is not None
            body = jobs.job_body(session, office.account, job_id, run.revision)
            values = {
                name: own_values.get_value(session, office.account, name).record()
                for name in own_values.NAMES
            }
        planned = plan_job(load(Job, body), values["standard"], values["outputs"], values["price_book"])
        drawings = {
            surface["id"]: b"<svg xmlns='http://www.w3.org/2000/svg'/>" for surface in body["surfaces"]
        }
        with store.writing() as session:
            ledger.finish_plan(session, claimed, plan=dump(planned), drawings=drawings)

    return plan
