"""The relay: finds runs waiting in the database and tells the broker. A run is told of after the commit that marked
it; where telling fails the mark is taken back, and where the relay dies between the two the sweeper takes it back.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable

import structlog
from celery import Celery
from kombu.exceptions import OperationalError as BrokerError
from redis.exceptions import RedisError
from sqlalchemy.exc import SQLAlchemyError

from service.records import ledger
from service.records.store import Store
from service.records.waiting import WaitingKinds
from service.settings import Settings
from workers.queue import QUEUE_OF, TASK_OF

log = structlog.get_logger(__name__)
_PAUSES_S = (0.2, 0.5, 1.0, 2.0)  # after failures, one after the other; the last is kept


def relay_once(store: Store, app: Celery, settings: Settings, kinds: Iterable[str] = tuple(QUEUE_OF)) -> int:
    """Announces what is waiting and may be announced; gives how many runs.

    Raises:
        BrokerError, RedisError, OSError: the broker does not take them; their marks have been taken back.
    """
    told = 0
    for kind in kinds:
        with store.reading() as session:
            if not ledger.may_dispatch(session, kind=kind, ahead=settings.dispatch_ahead):
                continue
        with store.writing() as session:
            run_ids = ledger.dispatch(session, kind=kind, ahead=settings.dispatch_ahead)
        told += _tell(store, app, kind, run_ids)
    return told


def _tell(store: Store, app: Celery, kind: str, run_ids: list[str]) -> int:
    for told, run_id in enumerate(run_ids):
        try:
            app.send_task(TASK_OF[kind], args=[run_id], queue=QUEUE_OF[kind], retry=False)
        except (BrokerError, RedisError, OSError):
            with store.writing() as session:
                ledger.not_announced(session, run_ids[told:])
            raise
    return len(run_ids)


def relay(store: Store, app: Celery, settings: Settings, stop: threading.Event) -> None:
    """Relays until `stop`, over every failure of broker or database.

    An idle service must cost next to nothing, and a run must not wait for the next look: so it looks often, and each
    look is one question on a connection that is held. What is waiting is judged only where something waits.
    """
    failures = 0
    while not stop.is_set():
        try:
            with store.looking() as connection:
                waiting = WaitingKinds(connection, QUEUE_OF)
                while not stop.is_set():
                    relay_once(store, app, settings, waiting.look())
                    if failures:
                        log.info("relay works again", failures=failures)
                    failures = 0
                    stop.wait(settings.relay_every_s)
        except (BrokerError, RedisError, OSError, SQLAlchemyError) as error:
            pause = _PAUSES_S[min(failures, len(_PAUSES_S) - 1)]
            failures += 1
            log.warning("relay could not announce runs", error=repr(error), failures=failures)
            stop.wait(pause)
