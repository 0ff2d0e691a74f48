"""The real application over a real SQLite file; plans are made by the real engine, in this process."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select

from service.app import create_app
from service.records import accounts, runs
from service.records.store import Store
from service.records.tables import Run
from service.settings import Settings
from tests.service.api.office import Office
from workers import tasks
from workers.queue import TASK_OF


@pytest.fixture
def settings(sqlite_template: Path, tmp_path: Path) -> Settings:
    shutil.copy(sqlite_template, tmp_path / "lapwise.db")
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
def worker(store: Store) -> Iterator[Callable[[str, str], None]]:
    """The worker's own task functions, in this process: does one run, by its kind and id."""
    tasks._stores[os.getpid()] = store

    def work(kind: str, run_id: str) -> None:
        tasks.app.tasks[TASK_OF[kind]](run_id)

    yield work
    tasks._stores.clear()


@pytest.fixture
def plan_now(store: Store, worker: Callable[[str, str], None]) -> Callable[[Office, str], None]:
    """Has the newest plan run of a job done as a worker does it."""

    def plan(office: Office, job_id: str) -> None:
        with store.reading() as session:
            run = runs.latest_run(session, office.account, job_id)
        assert run is not None
        worker("plan", run.id)
        with store.reading() as session:
            assert runs.get_run(session, office.account, run.id).state in ("ready", "failed")

    return plan


@pytest.fixture
def work_now(store: Store, worker: Callable[[str, str], None]) -> Callable[[Office], list[str]]:
    """Has every waiting run of an account done, and those that follow from them; gives what was done."""

    def work(office: Office) -> list[str]:
        done: list[str] = []
        while True:
            with store.reading() as session:
                waiting = session.scalars(
                    select(Run)
                    .where(Run.account_id == office.account, Run.state == "queued")
                    .order_by(Run.created_at)
                ).all()
            if not waiting:
                return done
            for run in waiting:
                worker(run.kind, run.id)
                done.append(run.document_kind or run.kind)

    return work
