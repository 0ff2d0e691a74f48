"""The worker: one Celery worker with its pool for each queue, forked from a process that has everything imported.

Plans and documents have pools of their own, so that nobody who waits for a plan waits behind somebody's PDFs; the
documents' pool also gives way to the plans' where both want the processor. Beside them stands the teller of hooks,
which needs no broker (`workers.hooks.teller`).
"""

from __future__ import annotations

import os
import signal
from collections.abc import Sequence
from typing import NoReturn

import structlog

from service.ending import end
from service.parent import PARENT, end_with_parent
from workers import tasks
from workers.hooks import teller
from workers.queue import settings

log = structlog.get_logger(__name__)
HOOKS = "hooks"
_GIVES_WAY = {"documents": 5}  # added to its niceness


def run(queues: Sequence[str], *, processes: int, log_level: str) -> int:
    """Works on the queues, `processes` for each, until SIGTERM or SIGINT, or until a pool ends; gives the exit code."""
    if len(queues) == 1:
        _work(queues[0], processes=processes, log_level=log_level)
    own_pid = os.getpid()
    pools: dict[int, str] = {}
    for queue in queues:
        pid = os.fork()
        if pid == 0:
            os.environ[PARENT] = str(own_pid)
            end_with_parent()
            _work(queue, processes=processes, log_level=log_level)
        pools[pid] = queue
    asked_to_stop = False

    def stop(*_: object) -> None:
        nonlocal asked_to_stop
        asked_to_stop = True
        for pid in pools:
            os.kill(pid, signal.SIGTERM)

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, stop)
    worst = 0
    while pools:
        pid, status = os.wait()
        queue = pools.pop(pid, None)
        if queue is None:
            continue
        code = os.waitstatus_to_exitcode(status)
        if not asked_to_stop:
            log.error("a pool ended by itself", queue=queue, code=code)
            worst = 1
            stop()
        elif code != 0:
            worst = worst or 1
    return worst


def _work(queue: str, *, processes: int, log_level: str) -> NoReturn:
    os.nice(_GIVES_WAY.get(queue, 0))
    if queue == HOOKS:
        teller.run(settings)
        end(0)
    tasks.app.worker_main(
        [
            "--quiet", "worker", "--queues", queue, "--concurrency", str(processes),
            "--hostname", f"{queue}-{os.getpid()}@%h", "--loglevel", log_level,
            "--without-gossip", "--without-mingle", "--without-heartbeat",
        ]
    )  # fmt: skip
    end(0)
