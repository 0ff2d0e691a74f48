"""A worker killed in the middle of its work: another one finishes it, once."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from service.records.tables import Document, Drawing, Plan


def _count(service: Any, table: type[Any]) -> int:
    with service.store.reading() as session:
        return int(session.scalar(select(func.count()).select_from(table)) or 0)


@pytest.mark.parametrize("whole", [True, False], ids=["whole worker", "its child alone"])
def test_a_plan_whose_worker_is_killed_is_finished_once_by_another(
    service: Any, kill: Callable[[Any], None], tmp_path: Path, *, whole: bool
) -> None:
    there = tmp_path / "child"
    service.start_broker()
    service.start_scheduler()
    slow = service.start_slow_worker("plan_job", there)
    run = service.queue()
    service.until(lambda: there.exists() and there.read_text() != "", "the slow worker has the run")
    assert service.run(run).attempt == 1
    if whole:
        kill(slow)
    else:
        os.kill(int(there.read_text()), signal.SIGKILL)
        slow.send_signal(signal.SIGSTOP)  # so that it is another one that goes on
    service.start_worker()
    service.until_ready(run)
    assert service.run(run).attempt == 2
    service.until(lambda: _count(service, Document) == 1, "the site pack is stored")
    assert _count(service, Plan) == 1
    assert _count(service, Drawing) == 1


def test_a_document_whose_worker_is_killed_is_made_once_by_another(
    service: Any, kill: Callable[[Any], None], tmp_path: Path
) -> None:
    there = tmp_path / "child"
    service.start_broker()
    service.start_scheduler()
    slow = service.start_slow_worker("site_pack_pdf", there)
    run = service.queue()
    service.until_ready(run)
    service.until(lambda: there.exists() and there.read_text() != "", "the slow worker renders")
    kill(slow)
    service.start_worker()
    service.until(lambda: _count(service, Document) == 1, "the site pack is stored")
    with service.store.reading() as session:
        document = session.scalars(select(Document)).one()
        assert (document.kind, document.subject_id) == ("site_pack", run.id)


def test_a_frozen_worker_that_wakes_up_changes_nothing(service: Any, tmp_path: Path) -> None:
    there = tmp_path / "child"
    service.start_broker()
    service.start_scheduler()
    slow = service.start_slow_worker("plan_job", there)
    run = service.queue()
    service.until(lambda: there.exists() and there.read_text() != "", "the slow worker has the run")
    child = int(there.read_text())
    os.kill(child, signal.SIGSTOP)
    os.kill(slow.pid, signal.SIGSTOP)
    service.start_worker()
    service.until_ready(run)
    ready = service.run(run)
    there.with_suffix(".go").touch()
    os.kill(slow.pid, signal.SIGCONT)
    os.kill(child, signal.SIGCONT)
    late = "run lost to another worker or cancelled; result thrown away"
    service.until(lambda: len(service.events(late)) == 1, "the late result is thrown away")
    service.until(lambda: _count(service, Document) == 1, "the site pack is stored")
    after = service.run(run)
    assert (after.fence, after.finished_at, after.attempt) == (ready.fence, ready.finished_at, 2)
