"""The broker dies, forgets or freezes: nothing that was accepted is lost, and nothing is done twice."""

from __future__ import annotations

import os
import shutil
import signal
from pathlib import Path
from typing import Any

from service.records import ledger


def _announce(service: Any) -> None:
    service.start("scheduler")

    def all_told() -> bool:
        with service.store.reading() as session:
            return not ledger.may_dispatch(session, kind="plan", ahead=4)

    service.until(all_told, "the scheduler announced what there is room for")


def test_queued_work_survives_a_broker_killed_and_restarted(service: Any) -> None:
    waiting = [service.queue() for _ in range(6)]
    _announce(service)
    service.kill_broker()
    service.start_broker()
    service.start("worker")
    service.until_papers(*waiting)
    assert [service.run(run).attempt for run in waiting] == [1] * 6


def test_queued_work_survives_a_broker_that_forgets_everything(service: Any) -> None:
    waiting = [service.queue() for _ in range(3)]
    _announce(service)
    service.kill_broker()
    shutil.rmtree(service.directory / "broker")
    service.start_broker()
    service.start("worker")
    service.until_ready(*waiting)
    assert [service.run(run).attempt for run in waiting] == [1] * 3


def test_a_frozen_broker_delays_work_and_loses_none(service: Any) -> None:
    service.start("scheduler")
    service.start("worker")
    first = service.queue()
    service.until_ready(first)
    for pid in service.broker_pids():
        os.kill(pid, signal.SIGSTOP)
    meanwhile = [service.queue() for _ in range(2)]  # nothing is sent from here, so nothing can hang
    assert {service.run(run).state for run in meanwhile} == {"queued"}
    for pid in service.broker_pids():
        os.kill(pid, signal.SIGCONT)
    service.until_papers(*meanwhile)


def test_a_hint_that_comes_twice_does_the_work_once(service: Any) -> None:
    service.start("scheduler")
    run = service.queue()
    with service.store.writing() as session:  # as if the announcement had been lost, and then came after all
        ledger.dispatch(session, kind="plan", ahead=4)
        ledger.not_announced(session, [run.id])
    service.start("worker")
    service.until_papers(run)
    assert service.run(run).attempt == 1
    assert len(service.papers(run)) == 1


def test_a_worker_that_was_busy_while_the_broker_died_goes_on(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there))
    waiting = [service.queue() for _ in range(3)]
    service.until(there.exists, "the worker is busy")
    service.kill_broker()
    service.start_broker()
    there.with_suffix(".go").touch()
    service.until_papers(*waiting)
    assert [service.run(run).attempt for run in waiting] == [1] * 3


def test_a_worker_that_finishes_while_the_broker_is_away_goes_on(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there))
    waiting = [service.queue() for _ in range(3)]
    service.until(there.exists, "the worker is busy")
    service.kill_broker()
    there.with_suffix(".go").touch()
    service.until_ready(waiting[0])  # and cannot say so to the broker
    service.start_broker()
    service.until_papers(*waiting)
    assert [service.run(run).attempt for run in waiting] == [1] * 3
