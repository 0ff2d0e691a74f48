"""The teller: takes what hooks are due to be told from the database and posts it, each attempt in a thread of its own.

No message on the broker is needed: what is due stands in the database, and several tellers may look there. An address
that answers slowly holds a few threads and never all (`service.records.deliveries`).
"""

from __future__ import annotations

import secrets
import signal
import socket
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import Any

import structlog
from sqlalchemy.exc import SQLAlchemyError

from service.records import deliveries, presence
from service.records.deliveries import Due
from service.records.sealing import CannotOpen, Sealer
from service.records.store import Store
from service.records.waiting import WaitingDeliveries
from service.secrets_key import sealer_of
from service.settings import Settings
from workers.hooks.event import body
from workers.hooks.send import Attempt, post
from workers.hooks.signature import headers

log = structlog.get_logger(__name__)
AGAIN_AFTER_S = (5, 300, 1800, 7200, 18_000, 36_000, 21_600)
"""Seconds from one attempt to the next: at once, 5 s, 5 min, 30 min, 2 h, 5 h, 10 h and 6 h later, within 24 h."""
_THREADS = 32
_LOOK_EVERY_S = 0.25
_SAY_ALIVE_S = 5.0
_EXCERPT = 1000
_GONE = "It answered 410 Gone. Correct the address and set `active` to true to be told again."

_LOST = "not sent: the key this hook's secret was sealed with is missing here. Whoever runs the service must put it back; or change the hook's secret."


def attempt(store: Store, settings: Settings, due: Due) -> None:
    """Posts one delivery and writes down how it went."""
    began = time.perf_counter()
    message = body(due.event_id, due.event, due.account_id, due.subject, due.at, due.data)
    opened = _opened(due.secrets, sealer_of(settings))
    if opened:
        signed = headers(due.event_id, int(time.time()), message, opened)
        done = post(due.url, message, signed, settings.hook_networks)
    else:
        done = Attempt(None, _LOST)
    took_ms = round((time.perf_counter() - began) * 1000)
    entry: dict[str, Any] = {
        "status": done.status,
        "failure": done.failure[:300],
        "answer": _printable(done.answer),
        "took_ms": took_ms,
    }
    with store.writing() as session:
        deliveries.outcome(
            session,
            due,
            entry=entry,
            delivered=done.delivered,
            again_in_s=again_in_s(due.tries, done),
            stop_hook=_GONE if done.status == 410 else None,
            theirs=bool(opened),
        )
    log.info(
        "hook told" if done.delivered else "hook not told",
        delivery=due.id,
        account=due.account_id,
        hook_event=due.event,
        attempt=due.attempt,
        status=done.status,
        failure=done.failure,
        took_ms=took_ms,
    )


def _opened(kept: tuple[str, ...], sealer: Sealer) -> tuple[str, ...]:
    """The secrets themselves; none where the newest cannot be opened, since only what it signs is sure to be taken."""
    try:
        newest = sealer.open(kept[0])
    except CannotOpen:
        return ()
    older: list[str] = []
    for one in kept[1:]:
        with suppress(CannotOpen):
            older.append(sealer.open(one))
    return (newest, *older)


def again_in_s(tries: int, done: Attempt) -> float | None:
    """Seconds to the next attempt after `tries` that failed; None gives up. What `Retry-After` asks for is kept.

    Up to a tenth is taken off by chance, so that what failed together does not come back together.
    """
    if done.status == 410 or tries > len(AGAIN_AFTER_S):
        return None
    planned = AGAIN_AFTER_S[tries - 1] * (1 - secrets.randbelow(1000) / 10_000)
    return max(planned, done.retry_after_s or 0)


def _printable(answer: str) -> str:
    """The beginning of an answer, without characters a database or a page could not take."""
    return "".join(letter if letter.isprintable() else " " for letter in answer[:_EXCERPT])


def tell(store: Store, settings: Settings, stop: threading.Event) -> None:
    """Tells until `stop`, over every failure of the database; what is being sent then is finished."""
    with ThreadPoolExecutor(_THREADS, thread_name_prefix="hook") as threads:
        free = threading.BoundedSemaphore(_THREADS)
        under_way = 0
        lock = threading.Lock()

        def one(due: Due) -> None:
            nonlocal under_way
            try:
                attempt(store, settings, due)
            except SQLAlchemyError as error:  # it is taken up again once its sender counts as dead
                log.warning("outcome not written", delivery=due.id, error=repr(error))
            except Exception:
                log.exception("attempt broke off", delivery=due.id)
            finally:
                with lock:
                    under_way -= 1
                free.release()

        def take_up() -> float:
            """Begins what is due and there are threads for; gives the pause until the next look."""
            nonlocal under_way
            pause = _LOOK_EVERY_S
            for due in _claimed(store, most=_THREADS - under_way):
                free.acquire()
                with lock:
                    under_way += 1
                threads.submit(one, due)
                pause = 0.02  # there may be more where this came from
            return pause

        while not stop.is_set():
            try:
                with store.looking() as connection:
                    waiting = WaitingDeliveries(connection)
                    while not stop.is_set():
                        stop.wait(take_up() if waiting.look() else _LOOK_EVERY_S)
            except SQLAlchemyError as error:
                log.warning("nothing could be claimed to be told", error=repr(error))
                stop.wait(1.0)


def _claimed(store: Store, *, most: int) -> list[Due]:
    if most <= 0:
        return []
    with store.reading() as session:
        if not deliveries.any_due(session):
            return []
    with store.writing() as session:
        return deliveries.claim_due(session, most=most)


def run(settings: Settings) -> None:
    """The process: tells until SIGTERM or SIGINT."""
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    name = f"teller@{socket.gethostname()}:{threading.get_native_id()}"
    store = Store(settings.database_url, pool_size=4)
    telling = threading.Thread(target=tell, args=(store, settings, stop), name="teller")
    telling.start()
    log.info("teller started", name=name)
    try:
        while not stop.is_set():
            try:
                with store.writing() as session:
                    presence.heard_from(session, name=name, kind="teller")
            except SQLAlchemyError as error:
                log.warning("the teller could not say how it is", error=repr(error))
            stop.wait(_SAY_ALIVE_S)
    finally:
        stop.set()
        telling.join()
        store.close()
