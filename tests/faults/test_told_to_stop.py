"""A worker told to stop ends by itself: what it is doing is finished first, and nothing else is begun."""

from __future__ import annotations

import os
import signal
import subprocess
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from service.records.tables import Presence


def test_the_plan_under_way_is_finished_and_the_next_one_left_to_others(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    scheduler = service.start("scheduler")
    worker = service.start("worker", "plan_job", str(there), queues="compute", as_served=True)
    under_way, waiting = service.queue(), service.queue()
    service.until(lambda: there.exists() and there.read_text() != "", "the worker is at work")
    service.until(lambda: service.run(waiting).dispatched_at is not None, "it was told of the other plan too")
    service.kill(scheduler)  # on a slow machine the short lease may run out, which is no matter here
    os.kill(worker, signal.SIGTERM)
    service.until(lambda: not _present(service, worker), "it said goodbye, and takes nothing more")
    assert service.run(under_way).state == "running"
    there.with_suffix(".go").touch()
    service.until(lambda: _processes(worker) == [], "it ended, and its pool with it")
    assert [(run.state, run.attempt) for run in map(service.run, (under_way, waiting))] == [
        ("ready", 1),
        ("queued", 0),
    ]
    service.start("scheduler")
    service.start("worker")
    service.until_papers(under_way, waiting)


def _present(service: Any, worker: int) -> bool:
    with service.store.reading() as session:
        count = (
            select(func.count()).select_from(Presence).where(Presence.name.startswith(f"compute-{worker}@"))
        )
        return bool(session.scalar(count))


def _processes(group: int) -> list[str]:
    """Living processes of the group."""
    listed = subprocess.run(["ps", "-eo", "pgid=,stat="], capture_output=True, text=True, check=True)
    lines = (line.split() for line in listed.stdout.splitlines())
    return [stat for pgid, stat in lines if int(pgid) == group and not stat.startswith("Z")]
