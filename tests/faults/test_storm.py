"""Many jobs at once while everything is killed in turn: every one is ready in the end, none is lost, none done twice.

How many is set by LAPWISE_STORM_JOBS; the suite takes few, the long form 1000.
"""

from __future__ import annotations

import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
import requests
from sqlalchemy import func, select

from service.records import accounts
from service.records.tables import Batch, Document, Drawing, Job, Plan, Quote, Run
from tests.faults.conftest import ROOM, Service

JOBS = int(os.environ.get("LAPWISE_STORM_JOBS", "16"))
_EACH_BATCH = max(4, min(100, JOBS // 6))
_WITHIN_S = 300 + 10 * JOBS  # a guard against hanging
BOTH = pytest.mark.parametrize("service", ["sqlite", "postgres"], indirect=True)


class Web:
    """The web server in a process of its own, and a client that asks until it is answered."""

    def __init__(self, service: Service):
        self.service = service
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        with service.store.writing() as session:
            self.account = accounts.create_account(session, name="Example Supplies", kind="contractor").id
            self.key = accounts.create_key(session, self.account, name="storm").secret
        self.process = self._start()
        self.again = 0

    def _start(self) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", "service.cli", "api", "--port", str(self.port), "--processes", "1"],
            env={**self.service.environment, "LAPWISE_REQUESTS_PER_MINUTE": "1000000"},
            stdin=subprocess.DEVNULL,
            stdout=self.service.log,
            stderr=self.service.log,
            start_new_session=True,
        )

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def restart(self) -> None:
        self.kill()
        self.process = self._start()

    def ask(self, method: str, path: str, body: Any = None, key: str | None = None) -> Any:
        """The answer's JSON. Sends the very same request again for as long as nobody answers it."""
        headers = {"Authorization": f"Bearer {self.key}"}
        if key is not None:
            headers["Idempotency-Key"] = key
        give_up = time.monotonic() + 180
        while True:
            try:
                answer = requests.request(
                    method, f"http://127.0.0.1:{self.port}{path}", json=body, headers=headers, timeout=30
                )
                if answer.status_code < 500 and answer.headers.get("Retry-After") is None:
                    assert answer.ok, answer.text
                    return answer.json()
                if answer.ok:
                    return answer.json()
            except requests.RequestException:
                self.again += 1
            assert time.monotonic() < give_up, f"nobody answered {method} {path}"
            time.sleep(0.1)


@pytest.fixture
def web(service: Service) -> Iterator[Web]:
    made = Web(service)
    yield made
    made.kill()


class Storm:
    """Kills in turn, spread over the work by how much of it is done."""

    def __init__(self, service: Service, web: Web):
        self.service, self.web = service, web
        self.chance = random.Random(JOBS)
        kills = max(3, JOBS // 33)
        self.to_come = ["worker"] * kills + ["broker"] * max(1, JOBS // 500) + ["web"] * max(1, JOBS // 500)
        self.chance.shuffle(self.to_come)
        self.count = len(self.to_come)
        self.workers = [service.start("worker") for _ in range(2)]
        self.done: Counter[str] = Counter()

    def blow(self, part: float) -> None:
        """Does what is due once `part` of the work is done."""
        while self.to_come and part * 1.15 >= 1 - len(self.to_come) / self.count:
            time.sleep(self.chance.uniform(0, 0.3))
            what = self.to_come.pop()
            self.done[what] += 1
            if what == "worker":
                self._kill_a_worker()
            elif what == "broker":
                self.service.kill_broker()
                self.service.start_broker()
            else:
                self.web.restart()

    def _kill_a_worker(self) -> None:
        """One that is not on a run's last attempt: a run whose worker died with each is put aside, and rightly so."""
        worker = self.workers.pop(self.chance.randrange(2))
        while True:
            os.killpg(worker, signal.SIGSTOP)
            if not self._is_on_a_last_attempt(worker):
                break
            os.killpg(worker, signal.SIGCONT)
            time.sleep(0.1)
        self.service.kill(worker)
        self.workers.append(self.service.start("worker"))

    def _is_on_a_last_attempt(self, worker: int) -> bool:
        time.sleep(0.05)  # for a claim that the stopped worker has sent and the database not yet taken
        with self.service.store.reading() as session:
            last = session.scalars(
                select(Run.worker).where(Run.state == "running", Run.attempt >= Run.max_attempts)
            ).all()
        listed = subprocess.run(
            ["ps", "-o", "pid=", "-g", str(worker)], capture_output=True, text=True, check=True
        ).stdout.split()
        return any(str(name).rpartition(":")[2] in listed for name in last)


@BOTH
def test_every_job_of_a_storm_is_ready_and_nothing_is_done_twice(service: Service, web: Web) -> None:
    service.start("scheduler")
    began = time.monotonic()
    batches = [
        web.ask(
            "POST",
            "/v1/batches",
            {
                "jobs": [
                    {**ROOM, "reference": f"S-{place}"}
                    for place in range(first, min(first + _EACH_BATCH, JOBS))
                ]
            },
            key=f"batch-{first}",
        )["id"]
        for first in range(0, JOBS, _EACH_BATCH)
    ]
    storm = Storm(service, web)
    quoted: set[str] = set()
    papers = 0
    while papers < 3 * JOBS or len(quoted) < JOBS:  # site pack, quote, and the quote for machines
        assert time.monotonic() - began < _WITHIN_S, (papers, len(quoted), service.lines()[-3000:])
        ready, papers = _standing(service, web.account)
        assert _problems(service, web.account) == [], _swept(service)
        storm.blow(papers / (3 * JOBS))
        for job in ready - quoted:
            web.ask("POST", f"/v1/jobs/{job}/quotes", {}, key=f"quote-{job}")
            quoted.add(job)
        time.sleep(0.05)
    took_s = time.monotonic() - began
    assert not storm.to_come
    service.until(lambda: _all_finished(service, web.account), "every batch is marked finished")
    counts = [web.ask("GET", f"/v1/batches/{batch}")["counts"] for batch in batches]
    assert sum(count["ready"] for count in counts) == JOBS
    attempts = _nothing_twice(service, web.account)
    print(
        f"\n{JOBS} jobs ready, each with plan, drawing, site pack and quote, in {took_s:.0f} s; killed: "
        f"{dict(storm.done)}; requests sent again: {web.again}; runs by attempts: {dict(sorted(attempts.items()))}"
    )


def _standing(service: Service, account: str) -> tuple[set[str], int]:
    with service.store.reading() as session:
        ready = session.scalars(
            select(Run.job_id).where(Run.account_id == account, Run.kind == "plan", Run.state == "ready")
        )
        papers = session.scalar(
            select(func.count()).select_from(Document).where(Document.account_id == account)
        )
        return {str(job) for job in ready}, int(papers or 0)


def _problems(service: Service, account: str) -> list[Any]:
    with service.store.reading() as session:
        return list(
            session.scalars(select(Run.problem).where(Run.account_id == account, Run.state == "failed"))
        )


def _swept(service: Service) -> list[str]:
    told = ("run swept", "nobody looked", "run lost", "worker ready", "broke off", "broken off")
    return [line for line in service.lines().splitlines() if any(text in line for text in told)]


def _all_finished(service: Service, account: str) -> bool:
    with service.store.reading() as session:
        return (
            session.scalars(select(Batch.finished_at).where(Batch.account_id == account)).all().count(None)
            == 0
        )


def _nothing_twice(service: Service, account: str) -> Counter[int]:
    """Counts everything that was made; gives how many runs took how many attempts."""
    with service.store.reading() as session:
        for table in (Job, Plan, Drawing):
            assert (
                session.scalar(select(func.count()).select_from(table).where(table.account_id == account))
                == JOBS
            )
        runs = session.scalars(select(Run).where(Run.account_id == account)).all()
        assert Counter((run.kind, run.document_kind, run.state) for run in runs) == {
            ("plan", None, "ready"): JOBS,
            ("render", "site_pack", "ready"): JOBS,
            ("render", "quote", "ready"): JOBS,
        }
        assert Counter(
            session.scalars(select(Document.kind).where(Document.account_id == account))
        ) == dict.fromkeys(("site_pack", "quote", "quote_xml"), JOBS)
        numbers = session.scalars(select(Quote.number).where(Quote.account_id == account)).all()
        assert sorted(int(number.split("-")[1]) for number in numbers) == list(range(1, JOBS + 1))
        return Counter(run.attempt for run in runs)
