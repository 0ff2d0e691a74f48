"""The scheduler process: relay and sweeper side by side. Several may run; none is needed for what is under way."""

from __future__ import annotations

import os
import signal
import socket
import threading

import structlog

from service.records import presence
from service.records.store import Store
from service.settings import Settings
from workers.queue import make_app
from workers.relay import relay
from workers.sweeper import sweep

log = structlog.get_logger(__name__)


def run(settings: Settings) -> None:
    """Runs until SIGTERM or SIGINT."""
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    name = f"scheduler@{socket.gethostname()}:{os.getpid()}"
    store = Store(settings.database_url, pool_size=3)  # the relay holds one for its looks
    sweeping = threading.Thread(target=sweep, args=(store, settings, name, stop), name="sweeper")
    sweeping.start()
    log.info("scheduler started", name=name)
    try:
        relay(store, make_app(settings, publisher=True), settings, stop)
    finally:
        stop.set()
        sweeping.join()
        with store.writing() as session:
            presence.gone(session, name=name)
        store.close()
