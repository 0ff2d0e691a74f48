"""The sweeper: looks after runs nobody is doing, and removes what has been kept long enough."""

from __future__ import annotations

import datetime
import threading
import time

import structlog
from sqlalchemy.exc import SQLAlchemyError

from service.records import batches, deliveries, ledger, presence, purging, quote_answers, repeats
from service.records.store import Store, now_of
from service.settings import Settings

log = structlog.get_logger(__name__)
_TIDY_EVERY_S = 60.0


class Patience:
    """Says at each look whether leases may be judged.

    They may not where nobody looked for half a lease: the machine slept, the database was away, or its clock was set
    forward. Whatever kept the sweeper from looking may have kept live workers from saying so; they get two heartbeats,
    once, and are judged then however late that next look is.
    """

    def __init__(self, settings: Settings):
        self.longest = datetime.timedelta(seconds=settings.lease_s / 2)
        self.grace = datetime.timedelta(seconds=2 * settings.heartbeat_s)
        self.looked_at: datetime.datetime | None = None
        self.until: datetime.datetime | None = None

    def may_judge(self, now: datetime.datetime) -> bool:
        """For a look at this moment of the database's clock."""
        before, self.looked_at = self.looked_at, now
        if self.until is None and before is not None and now - before > self.longest:
            self.until = now + self.grace
            log.warning("nobody looked for a while; workers may say that they live", since=str(before))
        if self.until is not None and now < self.until:
            return False
        self.until = None
        return True


def sweep_once(store: Store, settings: Settings, patience: Patience) -> ledger.Swept:
    """One look at every run; changes are logged."""
    with store.writing() as session:
        swept = ledger.sweep(
            session,
            retry_delay_s=settings.retry_delay_s,
            redispatch_s=settings.redispatch_s,
            judge_leases=patience.may_judge(now_of(session)),
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
    patience = Patience(settings)
    while not stop.is_set():
        try:
            sweep_once(store, settings, patience)
            with store.writing() as session:
                presence.heard_from(session, name=name, kind="scheduler")
            if time.monotonic() - tidied > _TIDY_EVERY_S:
                tidy(store, settings)
                tidied = time.monotonic()
        except SQLAlchemyError as error:
            log.warning("sweep failed", error=repr(error))
        stop.wait(settings.sweep_s)
