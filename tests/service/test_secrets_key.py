"""Secrets at rest: sealed, opened by older keys too, and said in words where the key is lost."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import select

from service.app import create_app
from service.cli import main
from service.records import accounts, hooks
from service.records.ids import new_hook_secret
from service.records.migrate import migrate
from service.records.sealing import CannotOpen, Sealer, seal_all
from service.records.store import Store
from service.records.tables import Base, Hook
from service.secrets_key import key_file_in, new_key
from service.settings import Settings

OLD, NEW = new_key(), new_key()
SHOWN = new_hook_secret()


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = Store(f"sqlite:///{tmp_path / 'lapwise.db'}", pooled=False)
    migrate(made)
    return made


def _hook(store: Store, secret: str) -> str:
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor").id
        return hooks.create_hook(
            session, account, url="https://jobs.example.com/", events=[], active=True, note="", secret=secret
        ).id


def _kept(store: Store) -> list[str]:
    with store.reading() as session:
        return list(session.scalars(select(Hook.secret)))


def test_no_secret_of_the_service_stands_in_the_database_in_the_clear(store: Store, tmp_path: Path) -> None:
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor").id
        key = accounts.create_key(session, account, name="first").secret
    settings = Settings(database_url=f"sqlite:///{tmp_path / 'lapwise.db'}", secrets_key=NEW)
    client = create_app(settings, store).test_client()
    told = {"Authorization": f"Bearer {key}", "Idempotency-Key": '"one"'}
    made = client.post("/v1/hooks", json={"url": "https://jobs.example.com/"}, headers=told)
    rotated = client.post(f"/v1/hooks/{made.json['id']}/rotate", headers=told)
    secrets = [key, made.json["secret"], rotated.json["secret"]]
    with store.reading() as session:
        rows = [
            repr(tuple(row))
            for table in Base.metadata.sorted_tables
            for row in session.execute(select(table))
        ]
    assert [secret for secret in secrets if any(secret in row for row in rows)] == []
    assert Sealer([NEW]).open(_kept(store)[0]) == rotated.json["secret"]


def test_what_was_plain_is_sealed_and_a_new_key_replaces_the_old_one(store: Store) -> None:
    _hook(store, SHOWN)
    for keys, sealed in (([OLD], 1), ([OLD], 0), ([NEW, OLD], 1), ([NEW], 0)):
        with store.writing() as session:
            done = seal_all(session, Sealer(keys))
        assert (done.sealed, done.lost) == (sealed, ())
    (kept,) = _kept(store)
    assert SHOWN not in kept
    assert Sealer([NEW]).open(kept) == SHOWN
    with pytest.raises(CannotOpen):
        Sealer([OLD]).open(kept)


def test_a_lost_key_is_found_and_changes_nothing(store: Store) -> None:
    hook = _hook(store, Sealer([OLD]).seal(SHOWN))
    before = _kept(store)
    for keys in ([NEW], []):
        with store.writing() as session:
            assert seal_all(session, Sealer(keys)).lost == (hook,)
    assert _kept(store) == before


def test_migrating_seals_and_says_which_hooks_have_lost_their_key(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _hook(store, SHOWN)
    monkeypatch.setenv("LAPWISE_DATABASE_URL", f"sqlite:///{tmp_path / 'lapwise.db'}")
    monkeypatch.setenv("LAPWISE_SECRETS_KEY", OLD)
    assert CliRunner().invoke(main, ["migrate"]).exit_code == 0
    assert Sealer([OLD]).open(_kept(store)[0]) == SHOWN


def test_the_key_file_is_made_once_for_its_owner_alone(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        keys = {file.read_text() for file in pool.map(key_file_in, [tmp_path] * 16)}
    assert len(keys) == 1
    assert [file.name for file in tmp_path.iterdir()] == ["secrets.key"]
    assert (tmp_path / "secrets.key").stat().st_mode & 0o777 == 0o600
    assert Sealer([keys.pop().strip()]).has_key


def test_a_restored_backup_says_when_its_key_is_missing(store: Store, tmp_path: Path) -> None:
    file = key_file_in(tmp_path)
    _hook(store, Sealer([file.read_text().strip()]).seal(SHOWN))
    run = CliRunner().invoke
    assert run(main, ["backup", str(tmp_path / "copy"), "--data", str(tmp_path)]).exit_code == 0
    assert file.read_bytes().strip() not in (tmp_path / "copy").read_bytes()
    there = ["restore", str(tmp_path / "copy"), "--data", str(tmp_path / "new")]
    without = run(main, there)
    assert (without.exit_code, "secrets.key is not there" in without.stderr) == (0, True)
    (tmp_path / "new" / "secrets.key").write_bytes(file.read_bytes())
    again = run(main, there)
    assert (again.stderr, json.loads(again.stdout)["restored"]) == ("", str(tmp_path / "copy"))
