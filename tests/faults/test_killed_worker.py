"""A worker killed in the middle of its work: another one finishes it, once."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from service.records.tables import Drawing, Plan, Run
from service.settings import Settings

_PROMISED_S = 30.0
_FOR_THE_JOB_S = 10.0  # for the other worker to come free, and for the work
BOTH = pytest.mark.parametrize("service", ["sqlite", "postgres"], indirect=True)


def _stored_once(service: Any, run: Run) -> None:
    with service.store.reading() as session:
        for table in (Plan, Drawing):
            count = select(func.count()).select_from(table).where(table.run_id == run.id)
            assert session.scalar(count) == 1
    assert [(paper.kind, paper.subject_id) for paper in service.papers(run)] == [("site_pack", run.id)]


def _at_work(service: Any, there: Path) -> int:
    service.until(lambda: there.exists() and there.read_text() != "", "the slow worker is at work")
    return int(there.read_text())


def test_the_settings_let_nothing_wait_for_a_killed_worker_longer_than_half_a_minute() -> None:
    settings = Settings()
    assert settings.recovery_s + _FOR_THE_JOB_S < _PROMISED_S
    assert settings.heartbeat_s * 3 <= settings.lease_s  # two may be missed


@BOTH
def test_a_plan_whose_worker_is_killed_is_finished_once_by_another(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    slow = service.start("worker", "plan_job", str(there))
    run = service.queue()
    _at_work(service, there)
    assert service.run(run).attempt == 1
    service.start("worker")
    service.kill(slow)
    killed = time.monotonic()
    service.until_ready(run)
    took_s, within_s = time.monotonic() - killed, service.settings.recovery_s
    print(f"\nready {took_s:.1f} s after the kill; by the settings announced within {within_s:.1f} s")
    service.until_papers(run)
    assert (service.run(run).state, service.run(run).attempt) == ("ready", 2)
    _stored_once(service, run)


def test_a_plan_whose_pool_process_is_killed_is_finished_once_by_another(
    service: Any, tmp_path: Path
) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    slow = service.start("worker", "plan_job", str(there))
    run = service.queue()
    child = _at_work(service, there)
    there.with_suffix(".go").touch()  # the process that replaces it goes straight on
    os.kill(child, signal.SIGKILL)
    service.until_papers(run)
    assert (service.run(run).state, service.run(run).attempt) == ("ready", 2)
    assert os.getpgid(slow) == slow
    _stored_once(service, run)


@BOTH
def test_a_document_whose_worker_is_killed_is_made_once_by_another(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    slow = service.start("worker", "papers_of", str(there))
    run = service.queue()
    service.until_ready(run)
    _at_work(service, there)
    service.kill(slow)
    service.start("worker")
    service.until_papers(run)
    _stored_once(service, run)


def test_a_frozen_worker_that_wakes_up_changes_nothing(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    slow = service.start("worker", "plan_job", str(there))
    run = service.queue()
    _at_work(service, there)
    os.killpg(slow, signal.SIGSTOP)
    service.start("worker")
    service.until_papers(run)
    ready = service.run(run)
    there.with_suffix(".go").touch()
    os.killpg(slow, signal.SIGCONT)
    # whichever comes first: it hears that the run is another's, or tries to store what it made
    late = ("run broken off", "run lost to another worker or cancelled; result thrown away")
    service.until(
        lambda: sum(len(service.events(text, run)) for text in late) == 1, "the late work comes to nothing"
    )
    after = service.run(run)
    assert (after.fence, after.finished_at, after.attempt) == (ready.fence, ready.finished_at, 2)
    _stored_once(service, run)


def test_a_run_that_kills_every_worker_is_put_aside_and_others_go_on(service: Any, tmp_path: Path) -> None:
    service.start("scheduler")
    poison = service.queue()
    for attempt in (1, 2, 3):
        there = tmp_path / f"child-{attempt}"
        slow = service.start("worker", "plan_job", str(there))
        _at_work(service, there)
        service.kill(slow)
    service.until(lambda: service.run(poison).state == "failed", "the run is put aside")
    assert service.run(poison).problem["code"] == "run_quarantined"
    service.start("worker")
    healthy = service.queue()
    service.until_ready(healthy)
    assert service.run(poison).attempt == 3
