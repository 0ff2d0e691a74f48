"""`lapwise api`: the web server. The application is imported once, and made in each web process after the fork."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from flask import Flask
from gunicorn.app.base import BaseApplication

from service import logs
from service.app import create_app
from service.settings import Settings

_MEMORY_DISK = Path("/dev/shm")  # noqa: S108 - for gunicorn's heartbeat files, which may block on a busy disk


class WebServer(BaseApplication):  # type: ignore[misc] - gunicorn brings no types
    """gunicorn with our settings instead of its command line."""

    def __init__(self, settings: Settings, *, bind: str, processes: int, threads: int):
        """`bind` is ``host:port``, or ``fd://N`` for a listening socket handed over."""
        self._settings = settings
        self._options: dict[str, Any] = {
            "bind": bind,
            "workers": processes,
            "threads": threads,
            "worker_class": "gthread",
            "timeout": 60,
            "graceful_timeout": 12,
            "keepalive": 30,
            "control_socket_disable": True,
            "loglevel": "warning",
            "proc_name": "lapwise-api",
        }
        if _MEMORY_DISK.is_dir():
            self._options["worker_tmp_dir"] = str(_MEMORY_DISK)
        super().__init__()

    def load_config(self) -> None:
        """Takes our options; reads no file and no arguments."""
        for name, value in self._options.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """The application of one web process."""
        logs.configure(self._settings.log_level)
        return create_app(self._settings)
