"""Secrets that must be read back are kept sealed: unreadable in a copy of the database without the key.

The key stands outside the database (setting `secrets_key`). Several keys may be named: the first seals, all open, so
that a key can be changed. Sealed is with Fernet (AES-128-CBC and HMAC-SHA256), which also shows that nobody changed it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.tables import Hook

_MARK = "sealed:"


class CannotOpen(Exception):  # noqa: N818 - reads as what it says
    """The key a secret was sealed with is not among those named."""


class Sealer:
    """Seals and opens with the keys named; without any, secrets are kept as they are."""

    def __init__(self, keys: Sequence[str] = ()):
        """Fernet keys, the one that seals first. Raises ValueError where one is no such key."""
        self._newest = Fernet(keys[0]) if keys else None
        self._all = MultiFernet([Fernet(key) for key in keys]) if keys else None

    @property
    def has_key(self) -> bool:
        """Is anything sealed at all?"""
        return self._newest is not None

    def seal(self, secret: str) -> str:
        """What to keep of a secret."""
        return (
            secret if self._newest is None else _MARK + self._newest.encrypt(secret.encode()).decode("ascii")
        )

    def open(self, kept: str) -> str:
        """The secret itself. Raises CannotOpen."""
        if not kept.startswith(_MARK):
            return kept
        if self._all is None:
            raise CannotOpen
        try:
            return self._all.decrypt(kept.removeprefix(_MARK).encode()).decode()
        except InvalidToken:
            raise CannotOpen from None

    def is_newest(self, kept: str) -> bool:
        """Is it sealed with the first key (or plain, where there is none)?"""
        if self._newest is None or not kept.startswith(_MARK):
            return self._newest is None and not kept.startswith(_MARK)
        try:
            self._newest.decrypt(kept.removeprefix(_MARK).encode())
        except InvalidToken:
            return False
        return True


@dataclass(frozen=True, slots=True)
class SealedAnew:
    """What sealing everything did."""

    sealed: int
    """Secrets that were plain or under an older key, and are under the newest now."""
    lost: tuple[str, ...]
    """Hooks with a secret that none of the keys opens."""


def seal_all(session: Session, sealer: Sealer) -> SealedAnew:
    """Seals every secret that is plain or under an older key; those no key opens stay as they are. Safe to repeat."""
    sealed, lost = 0, []
    for hook in session.scalars(select(Hook).order_by(Hook.id).with_for_update()):
        for name in ("secret", "old_secret"):
            kept = getattr(hook, name)
            if kept is None or sealer.is_newest(kept):
                continue
            try:
                secret = sealer.open(kept)
            except CannotOpen:
                lost.append(hook.id)
                continue
            if sealer.has_key:
                setattr(hook, name, sealer.seal(secret))
                sealed += 1
    session.flush()
    return SealedAnew(sealed, tuple(dict.fromkeys(lost)))
