"""Backup and restore of the data directory of `lapwise serve`.

The database holds everything, documents included; the broker's file holds hints alone, which the scheduler sends anew.
The key that secrets are sealed with (``secrets.key``) is left out on purpose: a backup that gets lost shall open
nothing. It is copied by hand, once, and kept elsewhere. Without it all is there but the secrets hooks are signed with.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from service.secrets_key import KEY_FILE

DATABASE = "lapwise.db"
_PAGES_AT_A_TIME = 2000


class CannotKeep(RuntimeError):  # noqa: N818 - reads as what it says
    """Why it was not done, in one sentence."""


def backup(data_dir: Path, file: Path) -> int:
    """Copies the database to `file` by SQLite's online backup, while the service runs; gives the bytes.

    The copy is checked, and put in place only when it is whole and on disk.

    Raises:
        CannotKeep: there is no database, `file` is there already, or the copy is not sound.
    """
    source = data_dir / DATABASE
    if not source.exists():
        raise CannotKeep(f"There is no {source}.")
    if file.exists():
        raise CannotKeep(f"{file} is there already; name another file.")
    _copy(source, file)
    return file.stat().st_size


def restore(file: Path, data_dir: Path) -> None:
    """Puts a backup in place of the database of `data_dir`; what was there is kept beside it as ``lapwise.db.before``.

    Raises:
        CannotKeep: the service is running there, or the backup is not sound.
    """
    if not file.exists():
        raise CannotKeep(f"There is no {file}.")
    data_dir.mkdir(parents=True, exist_ok=True)
    target = data_dir / DATABASE
    with _not_served(data_dir):
        fresh = data_dir / f"{DATABASE}.new"
        fresh.unlink(missing_ok=True)
        _copy(file, fresh)
        if target.exists():
            with contextlib.closing(sqlite3.connect(target)) as old:
                old.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            target.replace(data_dir / f"{DATABASE}.before")
        for beside in ("-wal", "-shm"):
            (data_dir / (DATABASE + beside)).unlink(missing_ok=True)
        fresh.replace(target)


def key_missing(data_dir: Path) -> bool:
    """Are there sealed secrets in the directory's database, and no key file beside it?"""
    if (data_dir / KEY_FILE).exists():
        return False
    with contextlib.closing(sqlite3.connect(f"file:{data_dir / DATABASE}?mode=ro", uri=True)) as database:
        try:
            (sealed,) = database.execute("SELECT count(*) FROM hook WHERE secret LIKE 'sealed:%'").fetchone()
        except sqlite3.OperationalError:  # a database from before there were hooks
            return False
    return bool(sealed)


def _copy(source: Path, target: Path) -> None:
    partly = target.with_name(target.name + ".partly")
    partly.unlink(missing_ok=True)
    try:
        with (
            contextlib.closing(sqlite3.connect(f"file:{source}?mode=ro", uri=True)) as from_,
            contextlib.closing(sqlite3.connect(partly)) as to,
        ):
            from_.backup(to, pages=_PAGES_AT_A_TIME, sleep=0.01)
            to.execute("PRAGMA journal_mode=DELETE")  # one file, without a log beside it
            (sound,) = to.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.DatabaseError as error:
        partly.unlink(missing_ok=True)
        raise CannotKeep(f"{source} cannot be read as a database: {error}.") from None
    if sound != "ok":
        partly.unlink(missing_ok=True)
        raise CannotKeep(f"{source} is damaged: {sound}.")
    with partly.open("rb") as written:
        os.fsync(written.fileno())
    partly.replace(target)


@contextlib.contextmanager
def _not_served(data_dir: Path) -> Iterator[None]:
    with (data_dir / "serve.lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CannotKeep(f"lapwise serve uses {data_dir}; stop it first.") from None
        yield
