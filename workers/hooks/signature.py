"""Signatures of hook messages: Standard Webhooks 1.0.0, symmetric scheme v1.

The signed text is ``id.timestamp.body``, the signature ``v1,`` and the base64 of its HMAC-SHA256; during a rotation
the old and the new secret both sign, separated by a space.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from collections.abc import Sequence

PREFIX = "whsec_"


def headers(message_id: str, timestamp_s: int, body: bytes, secrets_shown: Sequence[str]) -> dict[str, str]:
    """The three headers of one attempt; `timestamp_s` is the attempt's own time in Unix seconds."""
    signed = f"{message_id}.{timestamp_s}.".encode() + body
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp_s),
        "webhook-signature": " ".join(_signature(signed, secret) for secret in secrets_shown),
    }


def _signature(signed: bytes, secret: str) -> str:
    key = base64.b64decode(secret.removeprefix(PREFIX))
    return "v1," + base64.b64encode(hmac.digest(key, signed, hashlib.sha256)).decode("ascii")
