"""A broker that does not answer is no matter to who sends a job: the request is answered, and the job done later."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy import select

from service.records.tables import Run
from tests.faults.conftest import ROOM, Service
from tests.faults.test_storm import Web

_BROKER_S = 2.0  # what a connection to the broker waits at least before it is given up (`make_app`)


@pytest.fixture
def web(service: Service) -> Iterator[Web]:
    made = Web(service)
    yield made
    made.kill()


def test_a_frozen_broker_holds_no_request_and_its_job_is_done_when_it_thaws(
    service: Service, web: Web
) -> None:
    service.start("scheduler")
    service.start("worker")
    web.ask("POST", "/v1/jobs", ROOM)
    service.until(lambda: _states(service, web.account) == ["ready"], "the first job is planned")
    frozen = service.broker_pids()
    for pid in frozen:
        os.kill(pid, signal.SIGSTOP)
    try:
        took_s = []
        for number in range(10):
            began = time.monotonic()
            answer: Any = web.ask("POST", "/v1/jobs", {**ROOM, "reference": f"F-{number}"})
            took_s.append(time.monotonic() - began)
            assert answer["status"] == "queued"
        ready: Any = web.ask("GET", "/readyz")  # else it would be taken out, though it can keep jobs
        assert (ready["status"], ready["checks"]["database"], ready["checks"]["broker"]) == (
            "degraded",
            True,
            False,
        )
        print(f"\nlongest of 10 requests while the broker was frozen: {max(took_s) * 1000:.0f} ms")
        assert min(took_s) < _BROKER_S  # had they asked the broker, every one would have waited that long
    finally:
        for pid in frozen:
            os.kill(pid, signal.SIGCONT)
    service.until(lambda: _states(service, web.account) == ["ready"] * 11, "every job is planned")


def _states(service: Service, account: str) -> list[str]:
    with service.store.reading() as session:
        return list(session.scalars(select(Run.state).where(Run.account_id == account, Run.kind == "plan")))
