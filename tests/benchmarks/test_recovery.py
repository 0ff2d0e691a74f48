"""Seconds from a worker's death in the middle of a plan to the plan being ready, under the settings as they are shipped."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from service.settings import Settings
from tests.faults.conftest import serving


@pytest.mark.benchmark
@pytest.mark.parametrize("kind", ["sqlite", "postgres"])
def test_seconds_from_a_kill_to_ready(kind: str, tmp_path: Path) -> None:
    took_s = []
    with serving(kind, tmp_path, told={}) as service:
        service.start("scheduler")
        for number in range(3):
            there = tmp_path / f"child-{number}"
            slow = service.start("worker", "plan_job", str(there))
            run = service.queue()
            service.until(lambda there=there: there.exists(), "the slow worker is at work")  # type: ignore[misc]
            other = service.start("worker")
            service.kill(slow)
            killed = time.monotonic()
            service.until_ready(run)
            took_s.append(time.monotonic() - killed)
            service.kill(other)
    print(
        f"\n{kind}: ready {', '.join(f'{each:.1f}' for each in took_s)} s after the kill; "
        f"the settings say announced within {Settings().recovery_s:.2f} s"
    )
