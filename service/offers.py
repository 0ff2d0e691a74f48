"""Signed links by which a customer opens a quote without a key.

The link carries the account, the quote and when it ends, signed with the service's secret; nothing is stored for it.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable
from dataclasses import dataclass

from itsdangerous import BadSignature, URLSafeSerializer


@dataclass(frozen=True, slots=True)
class Offer:
    """What a link leads to."""

    account_id: str
    quote_id: str
    expires_at: datetime.datetime


class Offers:
    """Makes and reads the links."""

    def __init__(self, secret: Callable[[], str]):
        """`secret` is asked when one is first needed."""
        self._secret = secret

    def token(self, offer: Offer) -> str:
        """The signed part of the link: letters, digits, dots, dashes and underscores."""
        return str(
            self._signer().dumps([offer.account_id, offer.quote_id, int(offer.expires_at.timestamp())])
        )

    def read(self, token: str, now: datetime.datetime) -> Offer | None:
        """What the link leads to; None where it is not ours or has ended."""
        try:
            account_id, quote_id, expires = self._signer().loads(token)
            ends = datetime.datetime.fromtimestamp(int(expires), datetime.UTC)
        except (BadSignature, ValueError, TypeError):
            return None
        return Offer(str(account_id), str(quote_id), ends) if now < ends else None

    def _signer(self) -> URLSafeSerializer:
        return URLSafeSerializer(
            self._secret(), salt="lapwise offer", signer_kwargs={"digest_method": hashlib.sha256}
        )
