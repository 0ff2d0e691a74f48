"""The end of a process of ours: at once, when its work is done."""

from __future__ import annotations

import contextlib
import logging
import os
import sys
from typing import NoReturn


def end(code: int) -> NoReturn:
    """Ends this process and leaves the interpreter's taking-apart out; call it last, with everything closed.

    Taking apart a process that has the engine and the PDF engine imported takes a processor for a second, and one that
    was forked copies for it, page by page, all the memory it shares. The kernel is done with it at once. Log lines are
    written out; what was registered to run at exit is not run.
    """
    logging.shutdown()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):  # whoever read it may be gone
            stream.flush()
    os._exit(code)
