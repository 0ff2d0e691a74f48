"""What a hook is told: a thin CloudEvents 1.0 event in JSON; whoever receives it reads the rest over the API."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping


def body(
    event_id: str, kind: str, account_id: str, subject: str, at: datetime.datetime, data: Mapping[str, object]
) -> bytes:
    """The very bytes that are signed and sent; the same for every attempt."""
    event = {
        "specversion": "1.0",
        "id": event_id,
        "type": kind,
        "source": f"/v1/accounts/{account_id}",
        "subject": subject,
        "time": at.astimezone(datetime.UTC).isoformat(timespec="seconds"),
        "datacontenttype": "application/json",
        "data": dict(data),
    }
    return json.dumps(event, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
