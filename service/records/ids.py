"""Public names and keys: random, so that nobody can guess or count."""

from __future__ import annotations

import base64
import hashlib
import secrets
import zlib

_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
KEY_PREFIX = "lapwise_"
_SECRET_CHARACTERS = 43  # 62**43 > 2**256
_CHECK_CHARACTERS = 6  # 62**6 > 2**32


def new_id(kind: str) -> str:
    """A public name such as ``job_4Zk…``: the kind and 131 random bits."""
    return f"{kind}_{''.join(secrets.choice(_ALPHABET) for _ in range(22))}"


def new_secret() -> str:
    """A key: ``lapwise_``, 256 random bits in base 62, and a CRC-32 so that a mistyped one is known without a look-up."""
    body = _base62(int.from_bytes(secrets.token_bytes(32), "big"), _SECRET_CHARACTERS)
    return KEY_PREFIX + body + _check(body)


def new_hook_secret() -> str:
    """What a hook's messages are signed with: 32 random bytes, written as Standard Webhooks 1.0.0 does."""
    return "whsec_" + base64.b64encode(secrets.token_bytes(32)).decode("ascii")


def looks_like_a_key(secret: str) -> bool:
    """Is it of the shape of a key, checksum and all? Says nothing about whether it is known."""
    body = secret.removeprefix(KEY_PREFIX)
    return (
        secret.startswith(KEY_PREFIX)
        and len(body) == _SECRET_CHARACTERS + _CHECK_CHARACTERS
        and body.isascii()
        and _check(body[:-_CHECK_CHARACTERS]) == body[-_CHECK_CHARACTERS:]
    )


def hash_of(secret: str) -> str:
    """SHA-256 in hex; enough for a secret of 256 random bits."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _check(body: str) -> str:
    return _base62(zlib.crc32(body.encode()), _CHECK_CHARACTERS)


def _base62(number: int, characters: int) -> str:
    digits = ""
    for _ in range(characters):
        number, digit = divmod(number, 62)
        digits = _ALPHABET[digit] + digits
    return digits
