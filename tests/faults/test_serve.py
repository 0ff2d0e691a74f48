"""`lapwise serve`: starts and stops in good order, looks after its parts, and leaves nothing behind."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, Any

import pytest

from api_schema.job import Job
from api_schema.shape import dump, load
from service import broker
from service.records import accounts, documents, jobs, runs
from service.records.migrate import migrate
from service.records.store import Store

_PATIENCE_S = 180.0
_ENVIRONMENT = {name: value for name, value in os.environ.items() if not name.startswith("LAPWISE_")}


class Serve:
    """One `lapwise serve`."""

    def __init__(self, data: Path, log: IO[bytes]):
        self.data = data
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "service.cli",
                "serve",
                "--data",
                str(data),
                "--port",
                "0",
                "--workers",
                "1",
            ],
            env=_ENVIRONMENT,
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
        )

    def ready(self) -> str:
        """Its address, from the one line it prints."""
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        assert line, "it ended before it was ready"
        return str(json.loads(line)["url"])

    def parts(self) -> list[int]:
        """Processes it started."""
        listed = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self.process.pid)], capture_output=True, text=True, check=False
        )
        return [int(pid) for pid in listed.stdout.split()]

    def part(self, word: str) -> int:
        """The part whose command line has the word in it."""
        return next(pid for pid in self.parts() if word in _command(pid))

    def end(self, number: signal.Signals) -> int:
        self.process.send_signal(number)
        code = self.process.wait(60)
        assert self.process.stdout is not None
        assert self.process.stdout.read() == ""
        self.process.stdout.close()
        return code


def _command(pid: int) -> str:
    with contextlib.suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")
    return ""


def _all_of(sessions: list[int]) -> list[int]:
    """Living processes of those sessions."""
    listed = subprocess.run(["ps", "-eo", "pid=,sid=,stat="], capture_output=True, text=True, check=True)
    lines = [line.split() for line in listed.stdout.splitlines()]
    return [int(pid) for pid, sid, stat in lines if int(sid) in sessions and not stat.startswith("Z")]


def _until(is_so: Callable[[], bool], what: str) -> None:
    give_up = time.monotonic() + _PATIENCE_S
    while not is_so():
        assert time.monotonic() < give_up, f"not within {_PATIENCE_S} s: {what}"
        time.sleep(0.05)


def _answers(url: str) -> bool:
    try:
        with urllib.request.urlopen(f"{url}/healthz", timeout=2) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[[Path], Serve]]:
    started: list[Serve] = []
    with (tmp_path / "serve.log").open("ab") as log:

        def start(data: Path) -> Serve:
            started.append(Serve(data, log))
            return started[-1]

        yield start
        for one in started:
            if one.process.poll() is None:
                one.process.kill()
                one.process.wait()
            if one.process.stdout is not None:
                one.process.stdout.close()


def test_serve_does_what_was_queued_keeps_its_parts_and_leaves_nothing_behind(
    serve: Callable[[Path], Serve], tmp_path: Path
) -> None:
    data = tmp_path / ("a-long-name-" * 8) / "data"  # longer than a socket's path may be
    data.mkdir(parents=True)
    store = Store(f"sqlite:///{data / 'lapwise.db'}", pooled=False)
    migrate(store)
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
        job = jobs.create_job(session, account.id, _room())
        run = runs.queue_plan(session, account.id, job.id, 1)

    def papers() -> list[Any]:
        with store.reading() as session:
            return documents.list_documents(session, account.id, job.id)

    # work queued while nothing ran is done
    first = serve(data)
    url = first.ready()
    assert _answers(url)
    assert len(first.parts()) == 4
    _until(lambda: len(papers()) == 1, "the site pack is stored")

    # a second one on the same directory is refused in one sentence
    second = subprocess.run(
        [sys.executable, "-m", "service.cli", "serve", "--data", str(data), "--port", "0"],
        env=_ENVIRONMENT,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert (second.returncode, second.stdout) == (1, "")
    assert f"Another lapwise serve uses {data} already" in second.stderr

    # a part that dies is started again, at the same address
    killed = first.part("service.cli api")
    os.killpg(killed, signal.SIGKILL)
    _until(
        lambda: any("service.cli api" in _command(pid) for pid in first.parts() if pid != killed),
        "web is started again",
    )
    _until(lambda: _answers(url), "it answers again")

    # killed, it leaves nothing running
    sessions = first.parts()
    assert len(sessions) == 4
    assert len(_all_of(sessions)) > 4
    first.process.kill()
    first.process.wait()
    _until(lambda: _all_of(sessions) == [], "every part ended with it")

    # the directory is as good as before, and is left in good order
    again = serve(data)
    assert _answers(again.ready())
    sessions = again.parts()
    assert again.end(signal.SIGTERM) == 0
    assert _all_of(sessions) == []
    assert not broker.socket_path_for(data).exists()
    broker.socket_path_for(data).parent.rmdir()
    with store.reading() as session:
        assert runs.get_run(session, account.id, run.id).attempt == 1
    assert len(papers()) == 1


def _room() -> dict[str, Any]:
    surface = {
        "id": "north",
        "kind": "wall",
        "outline_mm": [[0, 0], [4200, 0], [4200, 2450], [0, 2450]],
        "members": {"direction": "up", "centres_mm": 400},
        "edges": [{"edge": edge, "finish": "timber"} for edge in range(4)],
    }
    return dump(load(Job, {"reference": "PX-014", "surfaces": [surface]}))
