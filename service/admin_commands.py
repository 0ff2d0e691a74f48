"""The commands of those who run the service: the quarantine, purging, and backup and restore of a data directory."""

# ruff: noqa: PLC0415 - each subcommand brings in only what it needs
from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from service.settings import SettingsError, from_environment

_DATA = click.option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    help="Data directory of `lapwise serve`; else the database of LAPWISE_DATABASE_URL.",
)


def _store(data: Path | None) -> Any:
    from service.records.store import Store

    try:
        url = (
            f"sqlite:///{data.absolute() / 'lapwise.db'}"
            if data is not None
            else from_environment().database_url
        )
    except SettingsError as error:
        raise click.ClickException(str(error)) from None
    return Store(url, pooled=False)


@click.group()
def admin() -> None:
    """For those who run the service."""


@admin.command()
@_DATA
def quarantine(data: Path | None) -> None:
    """Lists runs put aside because their workers died, a JSON line each."""
    from service.records import operations

    with _store(data).reading() as session:
        for run in operations.quarantined(session):
            about = {
                "run": run.id, "kind": run.kind, "document": run.document_kind, "account": run.account_id,
                "job": run.job_id, "attempts": run.attempt, "worker": run.worker,
                "put_aside_at": None if run.finished_at is None else run.finished_at.isoformat(),
            }  # fmt: skip
            click.echo(json.dumps(about))


@admin.command()
@click.argument("run")
@_DATA
def replay(run: str, data: Path | None) -> None:
    """Queues a failed RUN again, with all its attempts before it."""
    from service.records import operations
    from service.records.errors import RecordsError

    try:
        with _store(data).writing() as session:
            again = operations.replay(session, run)
    except RecordsError as error:
        raise click.ClickException(f"{run}: {error}") from None
    click.echo(json.dumps({"run": again.id, "state": again.state}))


@admin.command()
@click.option("--look", is_flag=True, help="Only says what is due.")
@_DATA
def purge(look: bool, data: Path | None) -> None:
    """Removes for good what was removed long enough ago, as the scheduler does by and by.

    Jobs and fan tests go LAPWISE_KEEP_REMOVED_DAYS after they were removed, with their plans, documents and files;
    jobs that a quote was issued or an order placed from LAPWISE_KEEP_ISSUED_DAYS after.
    """
    from service.records import purging

    try:
        settings = from_environment()
    except SettingsError as error:
        raise click.ClickException(str(error)) from None
    kept = {"keep_removed": settings.keep_removed_days, "keep_issued": settings.keep_issued_days}
    store = _store(data)
    if look:
        with store.reading() as session:
            jobs, tests = purging.due(session, **kept, most=1000)
        click.echo(json.dumps({"due": {"jobs": jobs, "tests": tests}}))
        return
    done = {"jobs": 0, "tests": 0}
    rows: dict[str, int] = {}
    while True:
        with store.writing() as session:
            purged = purging.purge(session, **kept)
        if not purged.rows:
            break
        done["jobs"] += len(purged.jobs)
        done["tests"] += len(purged.tests)
        for name, count in purged.rows.items():
            rows[name] = rows.get(name, 0) + count
    click.echo(json.dumps({"purged": done, "rows": rows}))


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--data", required=True, type=click.Path(file_okay=False, path_type=Path))
def backup(file: Path, data: Path) -> None:
    """Copies the data directory's database, documents and all, to FILE while the service runs.

    The key that secrets are sealed with is not in it: keep a copy of the directory's secrets.key elsewhere.
    """
    from service.keeping import CannotKeep
    from service.keeping import backup as run

    try:
        click.echo(json.dumps({"file": str(file), "bytes": run(data, file)}))
    except CannotKeep as error:
        raise click.ClickException(str(error)) from None


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--data", required=True, type=click.Path(file_okay=False, path_type=Path))
def restore(file: Path, data: Path) -> None:
    """Puts the backup FILE in place of the data directory's database; the service must be stopped."""
    from service.keeping import CannotKeep, key_missing
    from service.keeping import restore as run

    try:
        run(file, data)
    except CannotKeep as error:
        raise click.ClickException(str(error)) from None
    if key_missing(data):
        click.echo(
            f"Secrets in it are sealed, and {data / 'secrets.key'} is not there: put your copy of it back before you "
            "serve, or else each hook's secret must be changed.",
            err=True,
        )
    click.echo(json.dumps({"restored": str(file), "data": str(data)}))


@click.command("export")
@click.argument("account")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@_DATA
def export_account(account: str, file: Path, data: Path | None) -> None:
    """Writes everything of ACCOUNT to FILE, a ZIP: a JSON line for each row, and every document."""
    from service.records import leaving
    from service.records.errors import RecordsError

    if file.exists():
        raise click.ClickException(f"{file} is there already; name another file.")
    try:
        with file.open("wb") as written, _store(data).reading() as session:
            rows = leaving.export(session, account, written)
    except RecordsError:
        file.unlink()
        raise click.ClickException(f"There is no account {account}.") from None
    click.echo(json.dumps({"account": account, "file": str(file), "rows": rows}))


@click.command("delete")
@click.argument("account")
@click.option("--yes", is_flag=True, help="Needed: nothing of it can be had back but from a backup.")
@_DATA
def delete_account(account: str, yes: bool, data: Path | None) -> None:
    """Removes ACCOUNT with everything of it, for good: jobs, quotes, orders, documents, keys, audit trail."""
    from service.records import leaving
    from service.records.errors import NotFound, RecordsError

    if not yes:
        raise click.ClickException("Export it first, and then say --yes: this cannot be taken back.")
    try:
        with _store(data).writing() as session:
            removed = leaving.remove(session, account)
    except NotFound:
        raise click.ClickException(f"There is no account {account}.") from None
    except RecordsError as error:
        raise click.ClickException(str(error)) from None
    click.echo(json.dumps({"account": account, "removed": {name: n for name, n in removed.items() if n}}))
