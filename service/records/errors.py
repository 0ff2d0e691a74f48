"""Why a query could not be done. The API turns each into a problem; the texts are for the people who use it."""

from __future__ import annotations


class RecordsError(Exception):
    """Base of everything the records refuse."""


class NotFound(RecordsError):  # noqa: N818 - reads as what it says: raise NotFound("job")
    """There is no such thing in this account (404, the same for other people's things)."""


class Stale(RecordsError):  # noqa: N818
    """Somebody changed it since it was read (412)."""


class NotPossibleNow(RecordsError):  # noqa: N818
    """The thing is in a state that does not allow this (409). `code` is a stable word for programs."""

    def __init__(self, code: str, message: str) -> None:
        self.code = code
        super().__init__(message)


class KeyReused(RecordsError):  # noqa: N818
    """The same Idempotency-Key came with another request (422)."""


class StillRunning(RecordsError):  # noqa: N818
    """The first request with this Idempotency-Key has not been answered yet (409 with Retry-After)."""


class LostLease(RecordsError):  # noqa: N818
    """The run belongs to another worker by now, or was cancelled: what was computed is thrown away."""
