"""Request ids, and W3C Trace Context so that one request can be followed into the worker's log lines."""

from __future__ import annotations

import re
import secrets

_TRACEPARENT = re.compile(r"\A(?!ff)[0-9a-f]{2}-([0-9a-f]{32})-([0-9a-f]{16})-([0-9a-f]{2})(?:-.*)?\Z")
_REQUEST_ID = re.compile(r"\A[A-Za-z0-9._-]{1,64}\Z")


def request_id_from(header: str | None) -> str:
    """The caller's own request id where it is harmless, else a new one."""
    if header is not None and _REQUEST_ID.match(header):
        return header
    return "req_" + secrets.token_hex(8)


def traceparent_from(header: str | None) -> str:
    """A traceparent of ours: in the caller's trace where its header is well-formed, else in a new one."""
    match = _TRACEPARENT.match((header or "").strip())
    if match is not None and int(match[1], 16) and int(match[2], 16):
        return f"00-{match[1]}-{secrets.token_hex(8)}-{match[3]}"
    return f"00-{secrets.token_hex(16)}-{secrets.token_hex(8)}-01"
