"""How many requests an account may send, said in RateLimit headers.

The headers follow draft-ietf-httpapi-ratelimit-headers-11. Where the counters cannot be reached, requests are let
through: a lost Redis must not stop anybody's work.
"""

from __future__ import annotations

import logging
import math
import time
from collections.abc import Mapping
from dataclasses import dataclass

from limits import RateLimitItemPerMinute
from limits.errors import StorageError
from limits.storage import storage_from_string
from limits.strategies import FixedWindowRateLimiter

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a request may pass, and the headers that say so."""

    allowed: bool
    headers: Mapping[str, str]


class Rates:
    """Counts requests by account in windows of a minute."""

    def __init__(self, url: str, *, per_minute: int) -> None:
        """`url` is a storage address of the `limits` library: ``memory://`` or ``redis://…``."""
        patience = {} if url.startswith("memory") else {"socket_timeout": 0.3, "socket_connect_timeout": 0.3}
        storage = storage_from_string(url, wrap_exceptions=True, **patience)
        self._limiter = FixedWindowRateLimiter(storage)
        self._item = RateLimitItemPerMinute(per_minute)
        self._policy = f'"requests";q={per_minute};w=60'

    def count(self, who: str) -> Standing:
        """Counts one request of `who`, an account or an address."""
        try:
            allowed = self._limiter.hit(self._item, who)
            stats = self._limiter.get_window_stats(self._item, who)
        except StorageError:
            _log.warning("request rates cannot be counted", exc_info=True)
            return Standing(True, {})
        left_s = max(1, math.ceil(stats.reset_time - time.time()))
        headers = {
            "RateLimit-Policy": self._policy,
            "RateLimit": f'"requests";r={max(0, stats.remaining)};t={left_s}',
        }
        if not allowed:
            headers["Retry-After"] = str(left_s)
        return Standing(allowed, headers)
