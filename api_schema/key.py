"""Keys: what a program shows so that it is let in."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated, Literal

from marshmallow.fields import String

from api_schema.fields import choice, list_of, moment, text

KeyScope = Literal["read", "write", "admin"]
KEY_SCOPES: tuple[KeyScope, ...] = ("read", "write", "admin")


def _scope() -> String:
    return choice("read: look; write: make and change; admin: keys, profile and customers.", KEY_SCOPES)


@dataclass(frozen=True, slots=True)
class KeyWish:
    """A key to be made."""

    name: Annotated[str, text("What it is for.", example="job system in the office", shortest=1, longest=80)]
    scopes: Annotated[tuple[KeyScope, ...], list_of(_scope(), "What it may do.", fewest=1, most=3)] = (
        "read",
        "write",
    )


@dataclass(frozen=True, slots=True)
class Key:
    """A key as it may be shown."""

    id: Annotated[str, text("Its public name.", example="key_4Zk0c7tQm2")]
    name: Annotated[str, text("What it is for.", example="job system in the office")]
    starts_with: Annotated[str, text("Its first characters.", example="lapwise_Ab3x")]
    ends_with: Annotated[str, text("Its last four characters.", example="9fQz")]
    scopes: Annotated[tuple[KeyScope, ...], list_of(_scope(), "What it may do.")]
    created_at: Annotated[datetime.datetime, moment("When it was made.")]
    last_used_at: Annotated[
        datetime.datetime | None, moment("When it was last used, to the minute; null where never.")
    ]
    revoked_at: Annotated[
        datetime.datetime | None,
        moment(
            "From when on it opens nothing: when it was revoked, or the end of a rotated key's last 24 hours; null while nothing ends it."
        ),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class NewKey(Key):
    """A key just made, with its secret."""

    secret: Annotated[
        str | None,
        text(
            "Send it as `Authorization: Bearer …`. It is shown in this one answer; a repeat of the request with the same Idempotency-Key gives null.",
            example="lapwise_…",
        ),
    ]
