"""Pages of lists: opaque cursors, and the address of the next page (RFC 8288)."""

from __future__ import annotations

import base64
import binascii
import datetime
import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol
from urllib.parse import urlencode

from flask import request
from marshmallow import fields

from api_schema.fields import text, whole
from service.api.operation import Answer
from service.api.problems import Refusal
from service.records.paging import Place

MOST = 200
USUAL = 50

PAGE_PARAMETERS: Mapping[str, fields.Field[Any]] = {
    "limit": whole(f"How many at most; {USUAL} where not said.", example=20, minimum=1, maximum=MOST),
    "cursor": text(
        "Where to go on. Take it from the address of the next page; it is not to be built by hand.",
        example="WyIvdjEvam9icyIsICIyMDI2",
        shortest=1,
        longest=300,
        pattern=r"\A[A-Za-z0-9_-]+\Z",
        pattern_help="is not one of ours.",
    ),
}


class Dated(Protocol):
    """What a list of ours holds."""

    id: Any
    created_at: Any


def page_of(
    query: Mapping[str, Any],
    fetch: Callable[[int, Place | None], Sequence[Any]],
    show: Callable[[Any], Mapping[str, Any]],
) -> Answer:
    """One page of a list.

    Args:
        query: the loaded parameters, with `limit` and `cursor`.
        fetch: gives rows by how many and after which (created_at, id).
        show: the JSON of a row.
    """
    limit = query.get("limit") or USUAL
    cursor = query.get("cursor")
    rows = fetch(limit + 1, None if cursor is None else _place(cursor))
    body: dict[str, Any] = {"items": [show(row) for row in rows[:limit]]}
    headers: dict[str, str] = {}
    if len(rows) > limit:
        kept = {name: value for name, value in request.args.items() if name != "cursor"}
        address = f"{request.path}?{urlencode({**kept, 'cursor': _cursor(rows[limit - 1])})}"
        body["next"] = address
        headers["Link"] = f'<{address}>; rel="next"'
    return Answer(body, headers=headers)


def whole_list(rows: Sequence[Any], show: Callable[[Any], Mapping[str, Any]]) -> Answer:
    """A list short enough for one page, in the same envelope."""
    return Answer({"items": [show(row) for row in rows]})


def _cursor(row: Dated) -> str:
    written = json.dumps([request.path, row.created_at.isoformat(), row.id])
    return base64.urlsafe_b64encode(written.encode()).decode().rstrip("=")


def _place(cursor: str) -> Place:
    try:
        path, moment, last = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        place = datetime.datetime.fromisoformat(moment)
    except (ValueError, TypeError, binascii.Error, RecursionError):
        raise Refusal("bad_cursor") from None
    if path != request.path or place.tzinfo is None or not isinstance(last, str) or len(last) > 80:
        raise Refusal("bad_cursor")
    return place, last
