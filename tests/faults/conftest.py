"""A service of real processes for each test: broker, scheduler and workers, started and ended by pid."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from api_schema.job import Job
from api_schema.shape import dump, load
from service import broker
from service.records import accounts, jobs, runs
from service.records.migrate import migrate
from service.records.store import Store
from service.records.tables import Account, Run

_PATIENCE_S = 45.0

ROOM = {
    "reference": "PX-014",
    "title": "One room",
    "surfaces": [
        {
            "id": "north",
            "kind": "wall",
            "outline_mm": [[0, 0], [6200, 0], [6200, 2450], [0, 2450]],
            "members": {"direction": "up", "centres_mm": 400, "width_mm": 45},
            "edges": [{"edge": edge, "finish": "timber"} for edge in range(4)],
            "penetrations": [
                {"id": "p1", "kind": "pipe", "diameter_mm": 110, "at_mm": [5200, 600], "free_end": True}
            ],
        }
    ],
}

SLOW_WORKER = """
import os, pathlib, sys, time
from workers import tasks
from workers.queue import app
from service import logs

at, there, real = sys.argv[1], pathlib.Path(sys.argv[2]), getattr(tasks, sys.argv[1])

def slow(*arguments, **named):
    there.write_text(str(os.getpid()))
    while not there.with_suffix(".go").exists():
        time.sleep(0.05)
    return real(*arguments, **named)

logs.configure("INFO")
setattr(tasks, at, slow)
app.worker_main(["--quiet", "worker", "--queues", "compute,documents", "--concurrency", "1",
    "--hostname", f"slow-{os.getpid()}@%h", "--without-gossip", "--without-mingle", "--without-heartbeat"])
"""


class Service:
    """Processes of a service on a database and a broker of its own, with short leases."""

    def __init__(self, directory: Path, database_url: str):
        self.directory = directory
        self.socket = broker.socket_path_for(directory)
        self.environment = {
            **os.environ,
            "LAPWISE_DATABASE_URL": database_url,
            "LAPWISE_BROKER_URL": f"redis+socket://{self.socket}",
            "LAPWISE_LEASE_S": "3",
            "LAPWISE_HEARTBEAT_S": "0.5",
            "LAPWISE_SWEEP_S": "0.3",
            "LAPWISE_RETRY_DELAY_S": "0.1",
            "LAPWISE_REDISPATCH_S": "3",
        }
        self.store = Store(database_url, pool_size=2)
        migrate(self.store)
        self.processes: list[subprocess.Popen[bytes]] = []
        self.log = (directory / "log.jsonl").open("ab")
        with self.store.writing() as session:
            self.account: Account = accounts.create_account(
                session, name="Example Airtight Ltd", kind="contractor"
            )

    def start(self, *arguments: str) -> subprocess.Popen[bytes]:
        """Starts a process of ours in a group of its own."""
        process = subprocess.Popen(
            [sys.executable, *arguments],
            env=self.environment,
            stdout=self.log,
            stderr=self.log,
            start_new_session=True,
        )
        self.processes.append(process)
        return process

    def start_broker(self) -> subprocess.Popen[bytes]:
        process = self.start("-m", "service.broker", str(self.directory / "broker"), str(self.socket))
        self.until(lambda: broker.answers(self.socket), "the broker answers")
        return process

    def start_worker(self, processes: int = 1) -> subprocess.Popen[bytes]:
        return self.start("-m", "service.cli", "worker", "--processes", str(processes))

    def start_slow_worker(self, at: str, there: Path) -> subprocess.Popen[bytes]:
        """A worker that writes its child's pid to `there` and then waits at the function `at` of its tasks
        until a file with the ending .go stands beside it."""
        return self.start("-c", SLOW_WORKER, at, str(there))

    def start_scheduler(self) -> subprocess.Popen[bytes]:
        return self.start("-m", "service.cli", "scheduler")

    def queue(self, body: dict[str, Any] = ROOM) -> Run:
        with self.store.writing() as session:
            job = jobs.create_job(session, self.account.id, dump(load(Job, body)))
            return runs.queue_plan(session, self.account.id, job.id, 1)

    def run(self, run: Run) -> Run:
        with self.store.reading() as session:
            return runs.get_run(session, self.account.id, run.id)

    def until(self, is_so: Callable[[], bool], what: str, seconds: float = _PATIENCE_S) -> None:
        give_up = time.monotonic() + seconds
        while not is_so():
            if time.monotonic() > give_up:
                pytest.fail(f"not within {seconds} s: {what}\n{self.lines()[-4000:]}")
            time.sleep(0.05)

    def until_ready(self, *waiting: Run) -> None:
        self.until(lambda: all(self.run(run).state == "ready" for run in waiting), "every run is ready")

    def lines(self) -> str:
        return (self.directory / "log.jsonl").read_text()

    def events(self, event: str) -> list[dict[str, Any]]:
        return [
            line
            for line in map(json.loads, filter(lambda text: text.startswith("{"), self.lines().splitlines()))
            if line["event"] == event
        ]

    def end(self) -> None:
        for process in reversed(self.processes):
            kill_group(process)
        self.store.close()
        self.log.close()


def kill_group(process: subprocess.Popen[bytes]) -> None:
    """SIGKILL to the process and everything it started."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


@pytest.fixture
def kill() -> Callable[[subprocess.Popen[bytes]], None]:
    return kill_group


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    made = Service(tmp_path, f"sqlite:///{tmp_path / 'lapwise.db'}")
    yield made
    made.end()
