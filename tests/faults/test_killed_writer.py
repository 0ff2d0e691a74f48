"""A process killed in the middle of writing to SQLite: the database opens clean, and nothing acknowledged is lost.

How often is set by LAPWISE_KILLED_WRITES; the suite kills a few times, the long form 100.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

from service.records import accounts
from service.records.migrate import migrate
from service.records.store import Store

KILLS = int(os.environ.get("LAPWISE_KILLED_WRITES", "10"))

_WRITER = """
import os, sys
from service.records import jobs, numbers, runs
from service.records.store import Store

store, account = Store(sys.argv[1]), sys.argv[2]
while True:
    with store.writing() as session:
        job = jobs.create_job(session, account, {"reference": "PX-014", "title": "x" * 50_000})
        number = numbers.next_number(session, account, "quote", 2026)
        run = runs.queue_plan(session, account, job.id, 1)
    os.write(1, f"{job.id} {run.id} {number}\\n".encode())  # acknowledged: the commit is over
"""


def test_sqlite_killed_while_writing_opens_clean_and_keeps_what_was_acknowledged(tmp_path: Path) -> None:
    file = tmp_path / "lapwise.db"
    store = Store(f"sqlite:///{file}", pooled=False)
    migrate(store)
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor").id
    chance = random.Random(KILLS)
    acknowledged: list[list[str]] = []
    for _ in range(KILLS):
        acknowledged += _killed_writer(file, account, after_s=chance.uniform(0, 0.15))
        with closing(sqlite3.connect(file)) as opened:
            assert opened.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert opened.execute("PRAGMA foreign_key_check").fetchall() == []
            jobs = {row[0] for row in opened.execute("SELECT id FROM job")}
            revisions = {row[0] for row in opened.execute("SELECT job_id FROM job_revision")}
            runs = {row[0]: row[1] for row in opened.execute("SELECT id, job_id FROM run")}
            last = opened.execute("SELECT value FROM counter").fetchone()
        assert {job for job, _, _ in acknowledged} <= jobs
        assert {run for _, run, _ in acknowledged} <= set(runs)
        assert jobs == revisions == set(runs.values())  # a transaction is there as a whole or not at all
        assert len(jobs) == (0 if last is None else last[0])
    numbers = [int(number) for _, _, number in acknowledged]
    assert len(numbers) == len(set(numbers))
    print(f"\n{KILLS} kills, {len(acknowledged)} acknowledged writes, none lost")
    assert len(acknowledged) > KILLS


def _killed_writer(file: Path, account: str, *, after_s: float) -> list[list[str]]:
    writer = subprocess.Popen(
        [sys.executable, "-c", _WRITER, f"sqlite:///{file}", account], stdout=subprocess.PIPE
    )
    assert writer.stdout is not None
    first = writer.stdout.readline()
    time.sleep(after_s)
    writer.send_signal(signal.SIGKILL)
    rest, _ = writer.communicate()
    lines = (first + rest).decode().split("\n")[:-1]  # a line without its end was not acknowledged
    return [line.split() for line in lines]
