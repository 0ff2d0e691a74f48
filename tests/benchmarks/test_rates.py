"""What a run costs where every worker meets: database, relay, broker, web process. Prints, asserts no times.

Runs on PostgreSQL, which here does not wait for the disk at each commit: disks differ, and what is asked is what the
processors do. Processor seconds are read from /proc for each part's processes, so that other work on the machine
changes little; a rate for a core is their inverse.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select, text, update

from api_schema.job import Job
from api_schema.shape import dump, load
from service.records import accounts, jobs, ledger, runs
from service.records.store import Store
from service.records.tables import BATCH, Run
from tests.faults.conftest import ROOM, Service, serving
from tests.faults.test_storm import Web

_HOUSE = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"
_TICKS = os.sysconf("SC_CLK_TCK")
_RUNS = 600


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    told = {"LAPWISE_DISPATCH_AHEAD": "20"}  # twice the ten worker processes
    with serving("postgres", tmp_path_factory.mktemp("service"), told) as made:
        with made.store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            name = connection.exec_driver_sql("SELECT current_database()").scalar_one()
            connection.exec_driver_sql(f'ALTER DATABASE "{name}" SET synchronous_commit = off')
        made.store.engine.dispose()  # connections opened from here on have it
        yield made


@pytest.fixture(autouse=True)
def emptied(service: Service) -> Iterator[None]:
    yield
    service.kill(*service.pids)
    service.pids.clear()
    with service.store.writing() as session:
        session.execute(
            update(Run).where(Run.state.in_(("queued", "running"))).values(state="cancelled", problem=None)
        )


def _queue(service: Service, count: int, owners: int = 10) -> list[str]:
    """Waiting plans, shared out over some accounts; all but the first of each are copied within the database."""
    made = []
    copied = ", ".join(column.name for column in Run.__table__.columns if column.name != "id")
    for number in range(owners):
        with service.store.writing() as session:
            owner = accounts.create_account(session, name=f"Example {number}", kind="contractor").id
            job = jobs.create_job(session, owner, dump(load(Job, ROOM)))
            first = runs.queue_plan(session, owner, job.id, 1, priority=BATCH).id
            more = text(
                f"INSERT INTO run (id, {copied}) SELECT id || '-' || place, {copied} "  # noqa: S608 - our own columns
                "FROM run, generate_series(2, :count) AS place WHERE id = :first RETURNING id"
            )
            made += [first, *session.scalars(more, {"count": count // owners, "first": first})]
    return made


@dataclass(slots=True)
class Used:
    """Processor seconds of the parts' processes since it was made; parts that ended before reading are lost."""

    parts: dict[str, Callable[[dict[str, Any]], bool]]
    began: dict[str, float] = field(default_factory=dict)
    at: float = 0.0

    def __post_init__(self) -> None:
        self.began, self.at = self._now(), time.perf_counter()

    def since(self) -> tuple[dict[str, float], float]:
        now = self._now()
        return {part: now[part] - self.began[part] for part in now}, time.perf_counter() - self.at

    def _now(self) -> dict[str, float]:
        processes = list(_processes())
        return {
            part: sum(each["cpu_s"] for each in processes if belongs(each))
            for part, belongs in self.parts.items()
        }


def _processes() -> Iterator[dict[str, Any]]:
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            rest = (entry / "stat").read_text().rsplit(") ", 1)[1]
        except (OSError, IndexError):
            continue
        fields = rest.split()
        # user and system time, and those of ended children, which a postmaster collects
        yield {
            "pid": int(entry.name),
            "parent": int(fields[1]),
            "group": int(fields[2]),
            "cpu_s": sum(map(int, fields[11:15])) / _TICKS,
        }


def _database(service: Service) -> Callable[[dict[str, Any]], bool]:
    with service.store.engine.connect() as connection:
        directory = connection.exec_driver_sql("SHOW data_directory").scalar_one()
    postmaster = int((Path(directory) / "postmaster.pid").read_text().split()[0])
    return lambda each: postmaster in (each["pid"], each["parent"])


def _of(group: int) -> Callable[[dict[str, Any]], bool]:
    return lambda each: each["group"] == group


def _claim_and_finish(url: str, run_ids: list[str], done: Any) -> None:
    store = Store(url, pool_size=1)
    with store.reading() as session:  # connected before it counts
        session.execute(select(1))
    done.put(None)
    cpu = time.process_time()
    for run_id in run_ids:
        with store.writing() as session:
            claimed = ledger.claim(session, run_id, worker="benchmark", lease_s=60)
        assert claimed is not None
        with store.writing() as session:
            ledger.finish(session, run_id, fence=claimed.fence)
    done.put(time.process_time() - cpu)
    store.close()


@pytest.mark.benchmark
def test_claims_and_ends_by_one_process_and_by_many(service: Service) -> None:
    print(f"\n{'claimers':>8}{'runs/s':>9}{'database ms a run':>19}{'claimer ms a run':>18}")
    url = service.environment["LAPWISE_DATABASE_URL"]
    for claimers in (1, 2, 10):
        run_ids = _queue(service, _RUNS)
        started = multiprocessing.get_context("spawn")
        done = started.Queue()
        processes = [
            started.Process(target=_claim_and_finish, args=(url, run_ids[number::claimers], done))
            for number in range(claimers)
        ]
        for process in processes:
            process.start()
        for _ in processes:
            done.get(timeout=600)
        used = Used({"database": _database(service)})
        claimer_s = sum(done.get(timeout=600) for _ in processes)
        cpu_s, took_s = used.since()
        for process in processes:
            process.join()
        print(
            f"{claimers:>8}{_RUNS / took_s:>9.0f}{1000 * cpu_s['database'] / _RUNS:>19.2f}"
            f"{1000 * claimer_s / _RUNS:>18.2f}"
        )


@pytest.mark.benchmark
def test_announcing_out_of_backlogs_small_and_large(service: Service) -> None:
    print(f"\n{'waiting':>8}{'at once':>9}{'ms a look':>11}{'database ms a run':>19}{'relay ms a run':>16}")
    for waiting in (1000, 10_000, 50_000):
        _queue(service, waiting)
        with service.store.engine.connect() as connection:
            connection.exec_driver_sql("ANALYZE run")
        for at_once in (20, 200, 2000):
            if at_once > waiting:
                continue
            used, cpu, told, looks = Used({"database": _database(service)}), time.process_time(), 0, 0
            while looks < 5:
                with service.store.writing() as session:
                    chosen = ledger.dispatch(session, kind="plan", ahead=at_once)
                told, looks = told + len(chosen), looks + 1
                with service.store.writing() as session:  # as if all had been begun and ended
                    session.execute(update(Run).where(Run.id.in_(chosen)).values(state="ready"))
            cpu_s, took_s = used.since()
            relay_s = time.process_time() - cpu
            print(
                f"{waiting:>8}{at_once:>9}{1000 * took_s / looks:>11.0f}"
                f"{1000 * cpu_s['database'] / told:>19.2f}{1000 * relay_s / told:>16.2f}"
            )
        with service.store.writing() as session:
            session.execute(update(Run).where(Run.state == "queued").values(state="cancelled"))


@pytest.mark.benchmark
def test_ten_worker_processes_with_nothing_to_compute(service: Service) -> None:
    """Everything but the work itself: announced, sent, fetched, claimed, marked ready, acknowledged."""
    print(f"\n{'processes':>9}{'runs/s':>9}   processor ms a run")
    for processes in (1, 2, 10):
        _queue(service, _RUNS)
        worker = service.start("worker", how="finishes", queues="compute", processes=processes)
        time.sleep(3)
        scheduler = service.start("scheduler")
        service.until(lambda: _ready(service) > 20, "runs are being done")
        used = Used(
            {
                "database": _database(service),
                "scheduler": _of(scheduler),
                "broker": _of(service.broker.pid),
                "workers": _of(worker),
            }
        )
        before = _ready(service)
        service.until(lambda before=before: _ready(service) - before >= _RUNS - 100, "most are done")  # type: ignore[misc]
        cpu_s, took_s = used.since()
        done = _ready(service) - before
        said = ", ".join(f"{part} {1000 * each / done:.2f}" for part, each in cpu_s.items())
        print(f"{processes:>9}{done / took_s:>9.0f}   {said}", flush=True)
        service.kill(worker, scheduler)
        with service.store.writing() as session:
            session.execute(update(Run).where(Run.state != "cancelled").values(state="cancelled"))


def _ready(service: Service) -> int:
    with service.store.reading() as session:
        return session.scalar(select(func.count()).where(Run.kind == "plan", Run.state == "ready")) or 0


@contextmanager
def _web(service: Service) -> Iterator[Web]:
    made = Web(service)
    yield made
    made.kill()


@pytest.mark.benchmark
def test_what_a_request_costs_the_web_process(service: Service) -> None:
    print(f"\n{'request':<34}{'web ms':>8}{'database ms':>13}{'a second and core of web':>26}")
    house = json.loads(_HOUSE.read_text(encoding="utf-8"))
    with _web(service) as web:
        sent = web.ask("POST", "/v1/jobs", house)
        for what, method, path, body, times in (
            ("send two walls' worth of a job", "POST", "/v1/jobs", ROOM, 300),
            ("send the demonstration house", "POST", "/v1/jobs", house, 100),
            ("ask how far a plan is", "GET", sent["links"]["plan"], None, 300),
        ):
            web.ask(method, path, body)
            used = Used({"web": _of(web.process.pid), "database": _database(service)})
            for _ in range(times):
                web.ask(method, path, body)
            cpu_s, _took_s = used.since()
            print(
                f"{what:<34}{1000 * cpu_s['web'] / times:>8.1f}{1000 * cpu_s['database'] / times:>13.1f}"
                f"{times / cpu_s['web']:>26.0f}"
            )
