"""The command `lapwise`. Each subcommand brings in only what it needs."""

# ruff: noqa: PLC0415 - each subcommand brings in only what it needs
from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path
from typing import Any

import click

from service.admin_commands import admin, backup, delete_account, export_account, restore
from service.settings import Settings, SettingsError, from_environment

DATA = Path("lapwise-data")


def _settings() -> Settings:
    try:
        return from_environment()
    except SettingsError as error:
        raise click.ClickException(str(error)) from None


def _part_begins() -> Settings:
    from service.logs import configure
    from service.parent import end_with_parent

    settings = _settings()
    configure(settings.log_level)
    end_with_parent()
    return settings


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="lapwise")
def main() -> None:
    """Plans, prices and orders the airtight layer of a timber-framed house."""


@main.command()
@click.option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    default=DATA,
    show_default=True,
    help="Where everything is kept.",
)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8000, show_default=True, help="0 takes a free one."
)
@click.option(
    "--workers", type=click.IntRange(1, 256), help="Worker processes; one for each processor if not said."
)
def serve(data: Path, host: str, port: int, workers: int | None) -> None:
    """Everything on one machine: API, worker processes, a broker of its own, SQLite."""
    from service.ending import end
    from service.logs import configure
    from service.serve import CannotServe, Serving, Stopped

    settings = _settings()
    configure(settings.log_level)
    serving = Serving(data, host=host, port=port, worker_processes=workers)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: serving.stopping.set())
    try:
        serving.start(settings)
        click.echo(json.dumps({"url": serving.url, "data": str(serving.data_dir)}))
        sys.stdout.flush()
        serving.watch()
    except Stopped:
        pass
    except CannotServe as error:
        raise click.ClickException(str(error)) from None
    finally:
        serving.stop()
    end(0)


@main.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(1, 65535), default=8000, show_default=True)
@click.option("--fd", type=int, hidden=True, help="A listening socket that was handed over.")
@click.option("--processes", type=click.IntRange(1, 64), default=2, show_default=True, help="Web processes.")
@click.option("--threads", type=click.IntRange(1, 64), default=16, show_default=True, help="Threads in each.")
def api(host: str, port: int, fd: int | None, processes: int, threads: int) -> None:
    """The web server alone."""
    settings = _part_begins()
    from service.ending import end
    from service.web_server import WebServer

    address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    bind = f"fd://{fd}" if fd is not None else address
    try:
        WebServer(settings, bind=bind, processes=processes, threads=threads).run()
    except SystemExit as ended:  # of the server itself, and of each process it forked
        if isinstance(ended.code, int):
            end(ended.code)
        raise


@main.command()
@click.option(
    "--processes", type=click.IntRange(1, 256), help="For each queue; one for each processor if not said."
)
@click.option(
    "--queue",
    "queues",
    multiple=True,
    type=click.Choice(["compute", "documents", "hooks"]),
    default=["compute", "documents", "hooks"],
    show_default=True,
    help="What it works on; may be given twice.",
)
def worker(processes: int | None, queues: tuple[str, ...]) -> None:
    """A worker: plans, documents and the telling of hooks, each in a pool of its own."""
    settings = _part_begins()
    from service.ending import end

    if set(queues) == {"hooks"}:  # alone it needs neither broker nor engine
        from workers.hooks import teller

        teller.run(settings)
        end(0)
    from workers import pools

    end(
        pools.run(
            list(dict.fromkeys(queues)),
            processes=processes or os.cpu_count() or 1,
            log_level=settings.log_level,
        )
    )


@main.command()
def scheduler() -> None:
    """Announces waiting runs to the workers and looks after lost ones."""
    settings = _part_begins()
    from service.ending import end
    from workers.scheduler import run

    run(settings)
    end(0)


@main.command()
def migrate() -> None:
    """Brings the database to the schema this version expects, and seals secrets with the newest key."""
    _part_begins()
    from service.records.migrate import migrate as run
    from service.records.store import Store
    from service.secrets_key import seal_everything

    settings = _settings()
    store = Store(settings.database_url, pooled=False)
    run(store)
    seal_everything(store, settings)
    click.echo("The database is up to date.")


@main.group()
def account() -> None:
    """Accounts."""


@account.command("create")
@click.option("--name", required=True, help="The firm.")
@click.option(
    "--kind", type=click.Choice(["contractor", "merchant"]), default="contractor", show_default=True
)
@click.option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    help="Data directory of `lapwise serve`; else the database of LAPWISE_DATABASE_URL.",
)
def create_account(name: str, kind: Any, data: Path | None) -> None:
    """Makes an account and its first key, and prints both as JSON. The key is shown this once."""
    from service.records import accounts
    from service.records.migrate import migrate as run
    from service.records.store import Store

    name = name.strip()
    if not 0 < len(name) <= 120:
        raise click.ClickException("--name must have 1 to 120 characters.")
    url = f"sqlite:///{data.absolute() / 'lapwise.db'}" if data is not None else _settings().database_url
    store = Store(url, pooled=False)
    run(store)
    with store.writing() as session:
        made = accounts.create_account(session, name=name, kind=kind)
        key = accounts.create_key(session, made.id, name="first key")
        accounts.note(session, made.id, key_id=None, action="account.create", subject=made.id)
    click.echo(json.dumps({"account": made.id, "kind": kind, "name": name, "key": key.secret}))


@main.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--pdf", type=click.Path(file_okay=False, path_type=Path), help="Also makes the PDFs, in this directory."
)
def plan(file: Path, pdf: Path | None) -> None:
    """Plans one job file without any server; prints the plan as JSON."""
    from service.plan_file import CannotPlan, plan_file

    try:
        click.echo(plan_file(file, pdf))
    except CannotPlan as error:
        raise click.ClickException(str(error)) from None


@main.command()
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("demo-out"),
    show_default=True,
    help="Where PDFs and drawings are saved.",
)
@click.option("--merchant", is_flag=True, help="A merchant with three trade customers instead.")
def demo(out: Path, merchant: bool) -> None:
    """Plans the demonstration house over HTTP; saves its PDFs and drawings, and shows what was found."""
    from service.demo import DemoFailed, run
    from service.demo_merchant import run_merchant

    try:
        (run_merchant if merchant else run)(out)
    except DemoFailed as error:
        raise click.ClickException(str(error)) from None


for _command in (admin, backup, restore):
    main.add_command(_command)
for _command in (export_account, delete_account):
    account.add_command(_command)


if __name__ == "__main__":
    main()
