"""A run while it is done: its lease is kept alive, and the work is broken off where it must not go on.

It must not where the run is no longer ours (cancelled, past its deadline, or given to another worker), or where the
process holds more memory than a run may. A thread looks; the work is in the main thread, where Python runs signal
handlers, so a signal to our own process raises there between two steps, as Celery's soft time limit does. Compiled
code hears nothing until it returns: where that takes too long the process ends itself, and Celery starts another.
"""

from __future__ import annotations

import os
import resource
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import structlog
from sqlalchemy.exc import SQLAlchemyError

log = structlog.get_logger(__name__)
Why = Literal["not_ours", "memory"]
_LOOK_EVERY_S = 0.2
_TELL_EVERY_S = 1.0  # again, since an exception raised within a callback from compiled code is lost
_PATIENCE_S = 5.0
_SPARE = 1.25
_HELD = Path("/proc/self/statm")  # in pages: size, resident, shared …
_PAGE_KIB = resource.getpagesize() // 1024


class BrokenOff(BaseException):
    """The work must not go on; `why` says for which reason."""

    def __init__(self, why: Why):
        super().__init__(why)
        self.why: Why = why


@contextmanager
def watched(
    still_ours: Callable[[], bool],
    *,
    heartbeat_s: float,
    memory_kib: int,
    before_the_end: Callable[[Why], None] = lambda _why: None,
) -> Iterator[None]:
    """Watches over the block from a thread, until it ends. Only a process's main thread can be broken off.

    Args:
        still_ours: extends the lease; False where the run is no longer ours. Called each `heartbeat_s`, elsewhere.
        heartbeat_s: seconds between two of these.
        memory_kib: more than this held by the process breaks the block off.
        before_the_end: called where the block cannot be broken off and the process is about to end itself.

    Raises:
        BrokenOff: within the block.
    """
    watch = _Watch(still_ours, heartbeat_s, memory_kib, before_the_end)
    try:
        watch.begin()
        try:
            yield
        finally:
            watch.may_raise = False
    finally:
        watch.may_raise = False
        watch.end()


def limit_memory(memory_kib: int) -> None:
    """Lets this process allocate no more than a run may hold, and some: one great allocation then fails at once.

    Address space is no measure, since libraries map far more than they use; private writable pages are. The limit may
    be raised again by a process started from this one that has a limit of its own.
    """
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    wanted = int(memory_kib * 1024 * _SPARE)
    resource.setrlimit(
        resource.RLIMIT_DATA, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard)
    )


def held_kib() -> int:
    """What this process holds in memory that it does not share with files; 0 where the system does not tell."""
    try:
        _, resident, shared = _HELD.read_text(encoding="ascii").split()[:3]
    except OSError:
        return 0
    return (int(resident) - int(shared)) * _PAGE_KIB


class _Watch:
    def __init__(
        self,
        still_ours: Callable[[], bool],
        heartbeat_s: float,
        memory_kib: int,
        before_the_end: Callable[[Why], None],
    ):
        self.still_ours, self.heartbeat_s, self.memory_kib = still_ours, heartbeat_s, memory_kib
        self.before_the_end = before_the_end
        self.may_raise = threading.current_thread() is threading.main_thread()
        self.why: Why | None = None
        self.done = threading.Event()
        self.thread = threading.Thread(target=self.look, name="heartbeat", daemon=True)

    def begin(self) -> None:
        if self.may_raise:
            signal.signal(signal.SIGUSR2, self.told)
        self.thread.start()

    def end(self) -> None:
        self.done.set()
        self.thread.join()

    def told(self, *_: object) -> None:
        """The signal's handler, in the main thread."""
        if self.may_raise and self.why is not None:
            raise BrokenOff(self.why)

    def look(self) -> None:
        beat_at = time.monotonic() + self.heartbeat_s
        while not self.done.wait(min(_LOOK_EVERY_S, self.heartbeat_s)):
            if held_kib() > self.memory_kib:
                self.break_off("memory")
                return
            if time.monotonic() < beat_at:
                continue
            beat_at = time.monotonic() + self.heartbeat_s
            try:
                ours = self.still_ours()
            except SQLAlchemyError as error:
                log.warning("heartbeat failed", error=repr(error))
                continue
            if not ours:
                self.break_off("not_ours")
                return

    def break_off(self, why: Why) -> None:
        if not self.may_raise:
            return
        self.why = why
        give_up = time.monotonic() + _PATIENCE_S
        while time.monotonic() < give_up:
            signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGUSR2)  # wakes it where it waits
            if self.done.wait(_TELL_EVERY_S):
                return
        log.error("the work cannot be broken off; its process ends", why=why)
        self.before_the_end(why)
        if not self.done.is_set():
            os.kill(os.getpid(), signal.SIGKILL)
