"""Processes of `lapwise serve` end when it does, even when it is killed."""

from __future__ import annotations

import ctypes
import os
import signal
import sys

PARENT = "LAPWISE_PARENT_PID"
_PR_SET_PDEATHSIG = 1


def end_with_parent() -> None:
    """Where `serve` started this process: asks the kernel for SIGTERM when `serve` dies (Linux; nothing elsewhere)."""
    parent = os.environ.get(PARENT)
    if parent is None or sys.platform != "linux":
        return
    ctypes.CDLL(None, use_errno=True).prctl(_PR_SET_PDEATHSIG, signal.SIGTERM, 0, 0, 0)
    if os.getppid() != int(parent):  # it died between our start and the line above
        os.kill(os.getpid(), signal.SIGTERM)
