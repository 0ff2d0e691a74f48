"""The audit trail: who did what to what, and when."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated

from api_schema.fields import moment, text


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """One thing that was done."""

    id: Annotated[str, text("Public name of the entry.", example="aud_4Zk0c7tQm2")]
    at: Annotated[datetime.datetime, moment("When.")]
    action: Annotated[str, text("What was done, a stable word.", example="quote.issued")]
    subject: Annotated[str, text("To what.", example="quo_4Zk0c7tQm2")]
    key: Annotated[str | None, text("With which key; null where none was needed.", example="key_4Zk0c7tQm2")]
    key_name: Annotated[str | None, text("What that key is called.", example="job system in the office")]
    by: Annotated[
        str | None,
        text("Whose key: this account's, or the merchant's that acted for it.", example="acc_4Zk0c7tQm2"),
    ]
    detail: Annotated[
        str | None,
        text("What was said with it.", example="A. Sample, by the customer's link", longest=300),
    ]
