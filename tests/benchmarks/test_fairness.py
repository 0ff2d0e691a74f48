"""How long one account's single job waits behind another account's thousand, in jobs' time; prints, asserts no times.

Real scheduler, broker, workers and plans. A job's time is what a worker takes for one of the busy account's jobs, so
the wait in jobs' time is how many of those were finished between the single job being sent and being begun, for each
worker. Beside it stands the same job in a plain first-come queue: one more of the busy account's own batch jobs, which
is done when its turn comes.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from sqlalchemy import func, select

from api_schema.job import Job
from api_schema.shape import dump, load
from service.records import accounts, jobs, runs
from service.records.tables import BATCH, INTERACTIVE, Run
from tests.faults.conftest import ROOM, Service, serving

_WAITING = 1000


@pytest.mark.benchmark
def test_jobs_time_a_single_job_waits_behind_a_thousand(tmp_path: Path) -> None:
    print(f"\n{'workers':>7}  {'the single job':<30}{'began after':>12}{'wait s':>9}{'in jobs':>12}")
    for workers in (1, 2):
        directory = tmp_path / str(workers)
        directory.mkdir()
        with serving("sqlite", directory, told={}) as service:
            _queue(service, service.account.id, BATCH, _WAITING)
            service.start("scheduler")
            for _ in range(workers):
                service.start("worker", queues="compute")
            service.until(lambda service=service: _ended(service) >= 20, "the thousand are under way")  # type: ignore[misc]
            with service.store.writing() as session:
                quiet = accounts.create_account(session, name="Quiet Example", kind="contractor").id
            for what, account, priority in (
                ("another account's, interactive", quiet, INTERACTIVE),
                ("another account's, in a batch", quiet, BATCH),
                ("first come, first served", service.account.id, BATCH),
            ):
                (single,) = _queue(service, account, priority, 1)
                while _now(service, single).state != "ready":
                    time.sleep(0.05)
                done, wait_s = _before(service, single)
                print(
                    f"{workers:>7}  {what:<30}{done:>7} jobs{wait_s:>9.2f}{done / workers:>12.1f}", flush=True
                )


def _queue(service: Service, account: str, priority: int, count: int) -> list[Run]:
    body = dump(load(Job, ROOM))
    with service.store.writing() as session:
        job = jobs.create_job(session, account, body)
        return [runs.queue_plan(session, account, job.id, 1, priority=priority) for _ in range(count)]


def _now(service: Service, run: Run) -> Run:
    with service.store.reading() as session:  # whosever it is
        return session.get_one(Run, run.id)


def _ended(service: Service) -> int:
    with service.store.reading() as session:
        return session.scalar(select(func.count()).where(Run.state == "ready", Run.kind == "plan")) or 0


def _before(service: Service, single: Run) -> tuple[int, float]:
    """Others' plans finished between its being sent and being begun; seconds between the two."""
    run = _now(service, single)
    assert run.started_at is not None
    with service.store.reading() as session:
        others = select(func.count()).where(
            Run.kind == "plan", Run.finished_at >= run.created_at, Run.finished_at <= run.started_at
        )
        done = session.scalar(others) or 0
    return done, (run.started_at - run.created_at).total_seconds()
