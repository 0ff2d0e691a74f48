"""Idempotency-Key: reading the header, and what makes two requests the same.

After draft-ietf-httpapi-idempotency-key-header-07; keeping the answer is `service.records.repeats`.
"""

from __future__ import annotations

import hashlib
import re

from flask import request

from service.api.problems import Refusal

_KEY = re.compile(r"\A[\x21-\x7e]{1,255}\Z")


def key_of_request() -> str | None:
    """The key without its quotes; None where none was sent. Raises a 400 where it cannot be one."""
    header = request.headers.get("Idempotency-Key")
    if header is None:
        return None
    key = header.strip()
    if len(key) >= 2 and key[0] == key[-1] == '"':  # a Structured Field string
        key = key[1:-1].replace('\\"', '"').replace("\\\\", "\\")
    if not _KEY.match(key):
        raise Refusal("bad_header", "Idempotency-Key must have 1 to 255 visible ASCII characters, no spaces.")
    return key


def fingerprint(raw: bytes) -> str:
    """SHA-256 in hex of everything that makes this request what it is."""
    made = hashlib.sha256()
    for part in (request.method.encode(), request.full_path.encode("utf-8", "surrogateescape"), raw):
        made.update(len(part).to_bytes(8, "big") + part)
    return made.hexdigest()
