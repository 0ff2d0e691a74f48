"""The audit trail, written: what was done by whom, in the transaction of what it tells of."""

from __future__ import annotations

from service.api.operation import Asked
from service.records import accounts


def note(asked: Asked, action: str, subject: str, *, detail: str | None = None) -> None:
    """Notes what a request did to a thing of the account, and the key it was sent with."""
    accounts.note(
        asked.session,
        asked.caller.account_id,
        key_id=asked.caller.key_id,
        action=action,
        subject=subject,
        detail=detail,
    )
