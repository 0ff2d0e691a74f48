"""Work that must not go on is stopped and not only ignored: the worker takes the next job, and the run has a reason."""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update

from service.records import runs
from service.records.store import now_of
from service.records.tables import Run
from tests.faults.conftest import ROOM, Service

BOTH = pytest.mark.parametrize("service", ["sqlite", "postgres"], indirect=True)
ENDLESS = {**ROOM, "reference": "ENDLESS"}


def _at_work(service: Service, there: Path, run: Run) -> int:
    service.until(lambda: there.exists() and there.read_text() != "", "the endless run is at work")
    assert service.run(run).state == "running"
    return int(there.read_text())


def _cancel(service: Service, run: Run) -> None:
    with service.store.writing() as session:
        runs.cancel_run(session, service.account.id, run.id)


@BOTH
def test_a_cancelled_plan_is_stopped_and_its_worker_takes_the_next_job(
    service: Service, tmp_path: Path
) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there), only="ENDLESS")
    endless = service.queue(ENDLESS)
    child = _at_work(service, there, endless)
    _cancel(service, endless)
    following = service.queue()
    service.until_ready(following)  # by the only worker there is, whose run would never have ended
    assert [line["reason"] for line in service.events("run broken off", endless)] == ["not_ours"]
    assert service.run(endless).state == "cancelled"
    assert service.run(following).worker.endswith(f":{child}")  # type: ignore[union-attr]


def test_a_plan_past_its_deadline_is_failed_and_stopped(service: Service, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there), only="ENDLESS")
    endless = service.queue(ENDLESS)
    _at_work(service, there, endless)
    with service.store.writing() as session:
        soon = now_of(session) + datetime.timedelta(seconds=0.2)
        session.execute(update(Run).where(Run.id == endless.id).values(deadline_at=soon))
    following = service.queue()
    service.until_ready(following)
    ended = service.run(endless)
    assert (ended.state, ended.problem["code"]) == ("failed", "run_overdue")  # type: ignore[index]
    assert len(service.events("run broken off", endless)) == 1


def test_cancelled_work_that_sits_in_compiled_code_is_ended_with_its_process(
    service: Service, tmp_path: Path
) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there), how="sits_in_compiled_code", only="ENDLESS")
    endless = service.queue(ENDLESS)
    child = _at_work(service, there, endless)
    _cancel(service, endless)
    following = service.queue()
    service.until_ready(following)
    assert service.run(endless).state == "cancelled"
    assert not service.run(following).worker.endswith(f":{child}")  # type: ignore[union-attr]
    with pytest.raises(ProcessLookupError):
        os.kill(child, 0)


@pytest.mark.parametrize("how", ["grows", "grows_at_once"])
def test_a_run_that_takes_too_much_memory_fails_with_the_reason_and_others_go_on(
    service: Service, tmp_path: Path, how: str
) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there), how=how, only="ENDLESS")
    before = service.queue()
    greedy = service.queue(ENDLESS)
    after = service.queue()
    service.until(lambda: service.run(greedy).state == "failed", "the greedy run is given up")
    service.until_papers(before, after)
    ended = service.run(greedy)
    problem: Any = ended.problem
    assert (problem["code"], ended.attempt) == ("run_too_large", ended.max_attempts)
    assert "400 MB" in problem["detail"]
    assert [service.run(run).attempt for run in (before, after)] == [1, 1]


def test_a_run_that_takes_too_long_fails_with_the_reason_and_others_go_on(
    service: Service, tmp_path: Path
) -> None:
    there = tmp_path / "child"
    service.start("scheduler")
    service.start("worker", "plan_job", str(there), only="ENDLESS", limit_s=1)
    endless, following = service.queue(ENDLESS), service.queue()
    service.until(lambda: service.run(endless).state == "failed", "the endless run is given up")
    service.until_papers(following)
    problem: Any = service.run(endless).problem
    assert problem["code"] == "run_too_long"
    assert "after 1 second" in problem["detail"]
