"""Why a model could not be read."""

from __future__ import annotations

from typing import Literal

Reason = Literal["no_reader", "too_large", "too_slow", "too_much_memory", "unreadable", "no_spaces"]


class ModelError(ValueError):
    """A model that cannot be read; `reason` is for programs, the message says what to do.

    `reader_said` is the end of what the reader's process wrote before it stopped: for the log, not for the sender.
    """

    def __init__(self, reason: Reason, message: str, reader_said: str = "") -> None:
        self.reason = reason
        self.reader_said = reader_said
        super().__init__(message)
