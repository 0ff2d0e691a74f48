"""Backup, restore and quarantine from the command line, on real databases."""

from __future__ import annotations

import fcntl
import json
from pathlib import Path

from click.testing import CliRunner
from sqlalchemy import select, update

from service.cli import main
from service.records import accounts, jobs, operations, runs
from service.records.migrate import migrate
from service.records.store import Store
from service.records.tables import Account, Run


def _store(data: Path) -> Store:
    store = Store(f"sqlite:///{data / 'lapwise.db'}", pooled=False)
    migrate(store)
    return store


def _account(store: Store, name: str) -> str:
    with store.writing() as session:
        return accounts.create_account(session, name=name, kind="contractor").id


def _accounts(store: Store) -> set[str]:
    with store.reading() as session:
        return set(session.scalars(select(Account.id)))


def test_a_backup_holds_what_was_there_and_restoring_brings_it_back(tmp_path: Path) -> None:
    data, copy = tmp_path / "data", tmp_path / "copy.db"
    store = _store(data)
    first = _account(store, "Example Airtight Ltd")
    run = CliRunner().invoke
    taken = run(main, ["backup", str(copy), "--data", str(data)])
    assert json.loads(taken.output)["bytes"] == copy.stat().st_size
    second = _account(store, "Example Lining Ltd")
    assert run(main, ["restore", str(copy), "--data", str(data)]).exit_code == 0
    assert _accounts(store) == {first}
    assert (data / "lapwise.db.before").exists()
    elsewhere = tmp_path / "elsewhere"
    assert run(main, ["restore", str(data / "lapwise.db.before"), "--data", str(elsewhere)]).exit_code == 0
    assert _accounts(_store(elsewhere)) == {first, second}


def test_what_cannot_be_kept_is_said_and_changes_nothing(tmp_path: Path) -> None:
    data, copy, broken = tmp_path / "data", tmp_path / "copy.db", tmp_path / "broken.db"
    store = _store(data)
    account = _account(store, "Example Airtight Ltd")
    run = CliRunner().invoke
    assert run(main, ["backup", str(copy), "--data", str(tmp_path / "none")]).exit_code == 1
    assert run(main, ["backup", str(copy), "--data", str(data)]).exit_code == 0
    assert "already" in run(main, ["backup", str(copy), "--data", str(data)]).output
    broken.write_bytes(b"not a database" * 1000)
    assert run(main, ["restore", str(broken), "--data", str(data)]).exit_code == 1
    with (data / "serve.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        assert "stop it first" in run(main, ["restore", str(copy), "--data", str(data)]).output
    assert _accounts(store) == {account}


def test_runs_put_aside_are_listed_and_can_be_replayed(tmp_path: Path) -> None:
    store = _store(tmp_path)
    account = _account(store, "Example Airtight Ltd")
    with store.writing() as session:
        job = jobs.create_job(session, account, {"reference": "PX-014"})
        poison = runs.queue_plan(session, account, job.id, 1).id
        waiting = runs.queue_plan(session, account, job.id, 1).id
        problem = {"code": "run_quarantined"}
        session.execute(
            update(Run).where(Run.id == poison).values(state="failed", attempt=3, problem=problem)
        )
    run = CliRunner().invoke
    listed = run(main, ["admin", "quarantine", "--data", str(tmp_path)]).output
    assert [json.loads(line)["run"] for line in listed.splitlines()] == [poison]
    assert "only a failed one" in run(main, ["admin", "replay", waiting, "--data", str(tmp_path)]).output
    assert run(main, ["admin", "replay", "run_none", "--data", str(tmp_path)]).exit_code == 1
    again = run(main, ["admin", "replay", poison, "--data", str(tmp_path)])
    assert json.loads(again.output) == {"run": poison, "state": "queued"}
    with store.reading() as session:
        assert (session.get_one(Run, poison).attempt, operations.count_quarantined(session)) == (0, 0)
