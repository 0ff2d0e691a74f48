"""A worker that lost the broker while it was busy, and does not know it, is made to connect anew.

Celery's Redis transport fetches nothing while a message it took is not acknowledged. Where the broker dies during a
task, the acknowledgement at its end fails and is only logged: the message counts as taken for good, nothing is fetched
any more, and with nothing fetched the dead connection is never noticed. Such a worker would sit idle for ever.
"""

from __future__ import annotations

from typing import Any

import structlog
from celery import bootsteps
from celery.worker import state

log = structlog.get_logger(__name__)
_LOOK_EVERY_S = 1.0
_SEEN = 3  # in a row, so that a task between being taken and being begun is not mistaken


class BrokerForgotten(ConnectionError):  # noqa: N818 - a connection error is what makes the worker connect anew
    """Messages are held although nothing is being done."""


class Unstuck(bootsteps.StartStopStep):
    """Looks every second, from the worker's own loop, whether it holds messages that belong to no task."""

    requires = ("celery.worker.components:Timer",)

    def __init__(self, _worker: Any, **_: Any) -> None:
        self.timer: Any = None
        self.seen = 0

    def start(self, worker: Any) -> None:
        """Begins to look."""
        self.timer = worker.timer.call_repeatedly(_LOOK_EVERY_S, self.look, (worker,))

    def stop(self, _worker: Any) -> None:
        """Ends looking."""
        if self.timer is not None:
            self.timer.cancel()

    def look(self, worker: Any) -> None:
        """Raises BrokerForgotten, which the loop takes for a lost connection, once it was seen several times in a row."""
        self.seen = self.seen + 1 if _holds_what_is_nobodys(worker) else 0
        if self.seen >= _SEEN:
            self.seen = 0
            log.warning("messages held that belong to no task; connecting anew")
            raise BrokerForgotten("messages are held that belong to no task")


def _holds_what_is_nobodys(worker: Any) -> bool:
    consumer = getattr(getattr(worker, "consumer", None), "task_consumer", None)
    channel = getattr(consumer, "channel", None)
    if channel is None or state.reserved_requests or state.active_requests:
        return False
    return not channel.qos.can_consume()
