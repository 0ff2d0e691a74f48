"""An account's things are all in its export, none of them is left after its removal, and nobody else's is touched."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import func, select

from service.cli import main
from service.records import accounts, documents, hooks, jobs, runs
from service.records.ids import new_hook_secret
from service.records.leaving import tables_of_accounts
from service.records.migrate import migrate
from service.records.store import Store
from service.records.tables import Account


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = Store(f"sqlite:///{tmp_path / 'lapwise.db'}", pooled=False)
    migrate(made)
    return made


@pytest.fixture
def an_account(store: Store) -> Callable[[str], str]:
    def make(name: str) -> str:
        with store.writing() as session:
            account = accounts.create_account(session, name=name, kind="contractor").id
            accounts.create_key(session, account, name="first")
            accounts.note(session, account, key_id=None, action="account.create", subject=account)
            hooks.create_hook(
                session, account, url="https://jobs.example.com/", events=[], active=True, note="",
                secret=new_hook_secret(),
            )  # fmt: skip
            job = jobs.create_job(session, account, {"reference": name})
            run = runs.queue_plan(session, account, job.id, 1)
            documents.add_document(
                session,
                account,
                job.id,
                kind="site_pack",
                subject_id=run.id,
                filename="a.pdf",
                content=b"%PDF " + name.encode(),
            )
        return account

    return make


def _rows(store: Store, account: str) -> dict[str, int]:
    with store.reading() as session:
        return {
            table.name: session.scalar(
                select(func.count()).select_from(table).where(table.c.account_id == account)
            )
            or 0
            for table in tables_of_accounts()
        }


def test_an_export_holds_everything_but_secrets(
    store: Store, tmp_path: Path, an_account: Callable[[str], str]
) -> None:
    mine, other = an_account("Mine"), an_account("Other")
    file = tmp_path / "mine.zip"
    done = CliRunner().invoke(main, ["account", "export", mine, str(file), "--data", str(tmp_path)])
    assert done.exit_code == 0, done.output
    with zipfile.ZipFile(file) as made:
        texts = {name: made.read(name) for name in made.namelist()}
    counted = {name: len(text.splitlines()) for name, text in texts.items() if name.endswith(".jsonl")}
    assert counted == {f"{name}.jsonl": count for name, count in _rows(store, mine).items() if name != "blob"}
    assert [text for name, text in texts.items() if name.startswith("documents/")] == [b"%PDF Mine"]
    everything = b"".join(texts.values())
    assert b"whsec_" not in everything
    assert other.encode() not in everything
    assert json.loads(texts["account.json"])["id"] == mine


def test_a_removed_account_leaves_nothing_and_takes_nothing_of_others(
    store: Store, tmp_path: Path, an_account: Callable[[str], str]
) -> None:
    mine, other = an_account("Mine"), an_account("Other")
    before = _rows(store, other)
    run = CliRunner().invoke
    assert run(main, ["account", "delete", mine, "--data", str(tmp_path)]).exit_code == 1
    done = run(main, ["account", "delete", mine, "--yes", "--data", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert set(_rows(store, mine).values()) == {0}
    assert _rows(store, other) == before
    with store.reading() as session:
        assert session.get(Account, mine) is None
    assert run(main, ["account", "delete", mine, "--yes", "--data", str(tmp_path)]).exit_code == 1


def test_a_merchant_with_customers_is_not_removed(store: Store, tmp_path: Path) -> None:
    with store.writing() as session:
        merchant = accounts.create_account(session, name="Example Supplies", kind="merchant").id
        accounts.create_customer(session, merchant, name="Example Lining Ltd")
    done = CliRunner().invoke(main, ["account", "delete", merchant, "--yes", "--data", str(tmp_path)])
    assert (done.exit_code, "trade customers" in done.output) == (1, True)
