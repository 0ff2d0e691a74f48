"""`lapwise serve`: everything on one machine, each part a process of its own, looked after until told to stop.

The parts: the broker (unless one is named by LAPWISE_BROKER_URL), the scheduler, the worker with its pool, and the
web server. One that dies is started again; nothing is ended that was not started here.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import IO
from urllib.error import URLError

import structlog

from service import broker
from service.parent import PARENT
from service.records import presence
from service.records.migrate import migrate
from service.records.store import Store
from service.secrets_key import key_file_in, seal_everything
from service.settings import Settings, SettingsError

log = structlog.get_logger(__name__)
_READY_WITHIN_S = 180.0
_LOOK_EVERY_S = 0.1
_MOST_DEATHS, _IN_S = 5, 30.0


class CannotServe(RuntimeError):  # noqa: N818 - reads as what it says
    """Why it does not start, in one sentence."""


class Stopped(Exception):  # noqa: N818
    """It was told to stop while it was starting."""


@dataclass(slots=True)
class Part:
    """A process we keep running."""

    name: str
    command: list[str]
    patience_s: float
    """Seconds it gets to end in good order."""
    keep_open: tuple[int, ...] = ()
    process: subprocess.Popen[bytes] | None = None
    deaths: list[float] = field(default_factory=list)
    start_again_at: float | None = None

    def start(self, environment: dict[str, str], output: IO[bytes] | None) -> None:
        """Starts it, in a session of its own so that Ctrl-C reaches us alone."""
        self.process = subprocess.Popen(  # noqa: S603 - our own command
            self.command,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=output or sys.stderr,
            stderr=output or sys.stderr,
            start_new_session=True,
            pass_fds=self.keep_open,
        )
        log.info("part started", part=self.name, process=self.process.pid)

    def stop(self) -> None:
        """Asks it to end; ends it and what it started by force where it takes too long."""
        process = self.process
        if process is None:
            return
        if process.poll() is None:
            process.terminate()
            try:
                process.wait(self.patience_s)
            except subprocess.TimeoutExpired:
                log.warning("part ended by force", part=self.name)
        # what it left behind of its own session; the group's number is its pid, and is not given to others meanwhile
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        log.info("part ended", part=self.name, code=process.returncode)
        self.process = None


class Serving:
    """A service on one machine. `start` returns once it is ready; `watch` keeps it so; `stop` ends it."""

    def __init__(
        self,
        data_dir: Path,
        *,
        host: str = "127.0.0.1",
        port: int = 0,
        worker_processes: int | None = None,
        web_processes: int | None = None,
        output: IO[bytes] | None = None,
    ):
        """Starts nothing yet; port 0 takes a free one, `output` takes every part's log lines."""
        self.data_dir = data_dir.absolute()
        self.host, self.port, self.output = host, port, output
        processors = os.cpu_count() or 1
        self.worker_processes = worker_processes or processors
        self.web_processes = web_processes or min(2, processors)
        self.parts: list[Part] = []
        self.stopping = threading.Event()
        self._lock: IO[str] | None = None
        self._listener: socket.socket | None = None
        self._socket_path: Path | None = None
        self._key_file: Path | None = None

    @property
    def url(self) -> str:
        """Where it is reached."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{host}:{self.port}"

    def settings(self, base: Settings) -> Settings:
        """What the parts are told: what the environment names, and the data directory for the rest."""
        named = os.environ
        own: dict[str, str] = {}
        if "LAPWISE_DATABASE_URL" not in named and "LAPWISE_DATABASE_URL_FILE" not in named:
            own["database_url"] = f"sqlite:///{self.data_dir / 'lapwise.db'}"
        if "LAPWISE_BROKER_URL" not in named and "LAPWISE_BROKER_URL_FILE" not in named:
            self._socket_path = self._socket_path or broker.socket_path_for(self.data_dir)
            own["broker_url"] = f"redis+socket://{self._socket_path}"
        if "LAPWISE_SECRETS_KEY" not in named and "LAPWISE_SECRETS_KEY_FILE" not in named:
            self._key_file = key_file_in(self.data_dir)
            own["secrets_key"] = self._key_file.read_text(encoding="ascii").strip()
        return replace(base, data_dir=self.data_dir, dispatch_ahead=2 * self.worker_processes, **own)

    def start(self, base: Settings) -> None:
        """Locks the directory, migrates the database, starts every part and waits until all answer.

        Raises:
            CannotServe: another one serves this directory, the port is taken, or a part does not come up.
            Stopped: `stopping` was set meanwhile.
        """
        self._take_lock()
        try:
            self._listen()
            try:
                settings = self.settings(base)
            except OSError as error:
                raise CannotServe(f"The broker has no place for its socket: {error}.") from None
            except SettingsError as error:
                raise CannotServe(f"{self._key_file} holds no key that can be used: {error}") from None
            store = Store(settings.database_url, pooled=False)
            migrate(store)
            seal_everything(store, settings)
            self._name_parts()
            self._environment = self._environment_of(settings)
            begun = time.time()
            for part in self.parts:
                part.start(self._environment, self.output)
                if part.name == "broker":
                    self._wait_for("the broker", self._broker_answers)
            self._wait_for("the worker", lambda: _heard_since(store, "worker", begun))
            self._wait_for("the scheduler", lambda: _heard_since(store, "scheduler", begun))
            self._wait_for("the web server", self._web_answers)
        except BaseException:
            self.stop()
            raise

    def watch(self) -> None:
        """Starts parts again that died, until `stopping` is set.

        Raises:
            CannotServe: a part keeps dying.
        """
        while not self.stopping.wait(_LOOK_EVERY_S):
            self.look_after()

    def stop(self) -> None:
        """Ends every part, the web server first and the broker last; gives the directory free."""
        self.stopping.set()
        for part in reversed(self.parts):
            part.stop()
        if self._listener is not None:
            self._listener.close()
        if self._socket_path is not None:
            self._socket_path.unlink(missing_ok=True)
            if self._socket_path.parent != self.data_dir:
                with contextlib.suppress(OSError):
                    self._socket_path.parent.rmdir()
        if self._lock is not None:
            self._lock.close()
            self._lock = None

    def _take_lock(self) -> None:
        try:
            self.data_dir.mkdir(parents=True, exist_ok=True)
            self._lock = (self.data_dir / "serve.lock").open("w")
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CannotServe(
                f"Another lapwise serve uses {self.data_dir} already; stop it, or give another --data."
            ) from None
        except OSError as error:
            raise CannotServe(f"{self.data_dir} cannot be written to: {error.strerror}.") from None

    def _listen(self) -> None:
        family = socket.AF_INET6 if ":" in self.host else socket.AF_INET
        self._listener = socket.socket(family, socket.SOCK_STREAM)
        self._listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            self._listener.bind((self.host, self.port))
        except OSError as error:
            raise CannotServe(
                f"Port {self.port} of {self.host} cannot be used ({error.strerror}); give another --port."
            ) from None
        self.port = self._listener.getsockname()[1]

    def _name_parts(self) -> None:
        assert self._listener is not None  # noqa: S101 - set by _listen
        ours = [sys.executable, "-m", "service.cli"]
        listener = self._listener.fileno()
        if self._socket_path is not None:
            broker.end_left_over(self._socket_path)
            self.parts.append(
                Part(
                    "broker",
                    [
                        sys.executable,
                        "-m",
                        "service.broker",
                        str(self.data_dir / "broker"),
                        str(self._socket_path),
                    ],
                    patience_s=10,
                )
            )
        self.parts += [
            Part("worker", [*ours, "worker", "--processes", str(self.worker_processes)], patience_s=30),
            Part("scheduler", [*ours, "scheduler"], patience_s=10),
            Part(
                "web",
                [*ours, "api", "--fd", str(listener), "--processes", str(self.web_processes)],
                patience_s=15,
                keep_open=(listener,),
            ),
        ]

    def _environment_of(self, settings: Settings) -> dict[str, str]:
        told = {
            "LAPWISE_DATABASE_URL": settings.database_url,
            "LAPWISE_BROKER_URL": settings.broker_url,
            "LAPWISE_DATA_DIR": str(self.data_dir),
            "LAPWISE_DISPATCH_AHEAD": str(settings.dispatch_ahead),
            PARENT: str(os.getpid()),
        }
        if self._key_file is not None:
            told["LAPWISE_SECRETS_KEY_FILE"] = str(self._key_file)
        kept = {name: value for name, value in os.environ.items() if not name.endswith("_URL_FILE")}
        return {**kept, **told}

    def look_after(self) -> None:
        """Starts parts again that died. Raises CannotServe where one keeps dying."""
        now = time.monotonic()
        for part in self.parts:
            if part.process is not None and part.process.poll() is not None:
                code = part.process.returncode
                part.stop()
                part.deaths = [death for death in part.deaths if now - death < _IN_S] + [now]
                if len(part.deaths) > _MOST_DEATHS:
                    raise CannotServe(f"The {part.name} keeps ending (code {code}); see the log lines above.")
                log.warning("part died; it is started again", part=part.name, code=code)
                part.start_again_at = now + 0.2 * 2 ** (len(part.deaths) - 1)
            if part.start_again_at is not None and now >= part.start_again_at:
                part.start_again_at = None
                part.start(self._environment, self.output)

    def _wait_for(self, what: str, is_there: Callable[[], bool]) -> None:
        give_up = time.monotonic() + _READY_WITHIN_S
        while not is_there():
            if self.stopping.is_set():
                raise Stopped
            if time.monotonic() > give_up:
                raise CannotServe(f"{what[0].upper()}{what[1:]} did not come up; see the log lines above.")
            self.look_after()
            time.sleep(0.05)

    def _broker_answers(self) -> bool:
        return self._socket_path is not None and broker.answers(self._socket_path)

    def _web_answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.url}/healthz", timeout=2) as answer:  # noqa: S310 - our own http
                return bool(answer.status == 200)
        except (URLError, OSError):
            return False


def _heard_since(store: Store, kind: str, begun: float) -> bool:
    with store.reading() as session:
        return presence.alive(session, kind=kind, within_s=max(0.1, time.time() - begun)) > 0
