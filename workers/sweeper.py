"""The sweeper: looks after runs nobody is doing, and removes what has been kept long enough."""

from __future__ import annotations

import threading
import time

import structlog
from sqlalchemy.exc import SQLAlchemyError

from service.records import batches, deliveries, ledger, presence, purging, quote_answers, repeats
from service.records.store import Store
from service.settings import Settings

log = structlog.get_logger(__name__)
_TIDY_EVERY_S = 60.0


def sweep_once(store: Store, settings: Settings) -> ledger.Swept:
    """One look at every run; changes are logged."""
    with store.writing() as session:
        swept = ledger.sweep(
            session, retry_delay_s=settings.retry_delay_s, redispatch_s=settings.redispatch_s
        )
        finished = batches.finish_batches(session)
    for batch_id in finished:
        log.info("batch finished", batch=batch_id)
    for what in ("requeued", "quarantined", "overdue", "announced_again"):
        for run_id in getattr(swept, what):
            log.warning("run swept", run=run_id, what=what)
    return swept


def tidy(store: Store, settings: Settings) -> None:
    """Removes what was kept long enough; marks quotes whose last day has passed; gives up what hooks did not take."""
    with store.writing() as session:
        repeats.forget_old(session)
        presence.forget_old(session)
        quote_answers.expire_quotes(session)
        deliveries.give_up_late(session)
        deliveries.forget_old(session)
    with store.writing() as session:
        purged = purging.purge(
            session, keep_removed=settings.keep_removed_days, keep_issued=settings.keep_issued_days
        )
    if purged.rows:
        log.info("purged", jobs=list(purged.jobs), tests=list(purged.tests), rows=purged.rows)


def sweep(store: Store, settings: Settings, name: str, stop: threading.Event) -> None:
    """Sweeps until `stop`, over every failure of the database; says that the scheduler `name` is alive."""
    tidied = -_TIDY_EVERY_S
    while not stop.is_set():
        try:
            sweep_once(store, settings)
            with store.writing() as session:
                presence.heard_from(session, name=name, kind="scheduler")
            if time.monotonic() - tidied > _TIDY_EVERY_S:
                tidy(store, settings)
                tidied = time.monotonic()
        except SQLAlchemyError as error:
            log.warning("sweep failed", error=repr(error))
        stop.wait(settings.sweep_s)
