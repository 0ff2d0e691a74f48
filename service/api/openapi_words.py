"""What the OpenAPI document says in words: its introduction, the headers, the names in addresses."""

from __future__ import annotations

from typing import Any

from service.api.reading import LONGEST_WAIT_S

INTRODUCTION = f"""\
Plans, prices and orders the airtight layer of a timber-framed house.

Send a job (surfaces, junctions, openings, penetrations), get a plan: layout of the strips, cut list, take-off, \
labour, order lines and price. Then issue quotes and orders and fetch the documents.

**Keys.** Every operation under `/v1` wants `Authorization: Bearer KEY`. A merchant acts for a trade customer with \
`Act-For: ACCOUNT_ID`. Things of other accounts answer 404, as if they never were.

**Lengths** are whole millimetres; where we take one you may write words: `"2.4 m"`, `"240 cm"`, `"8 ft 2 in"`, `"4\\""`. \
Money and exact quantities are decimal strings, money beside an ISO 4217 `currency`.

**Refusals** are RFC 9457 problems. `errors` names every fault at once, each with an RFC 6901 pointer into what you sent.

**Repeats.** Send an `Idempotency-Key` with every POST: the same key and body give the first answer again for 24 hours.

**Edits** want `If-Match` with the `ETag` you read. PATCH is RFC 7396: lists are replaced whole, `null` puts a value \
back to its default.

**Long work** is answered with 202 and `Location`; `Prefer: wait=N` holds the answer up to N (at most {LONGEST_WAIT_S}) seconds.

**Lists** come in pages of at most 200; follow `next` or the `Link` header.

**Safety.** A plan is an aid, not a permit. Flues and other hot or fire-rated penetrations, structure, gas and \
electrical work belong to local codes and licensed trades.
"""

HEADERS: dict[str, dict[str, Any]] = {
    "ETag": {
        "description": "Names this version; send it as `If-Match` or `If-None-Match`.",
        "schema": {"type": "string", "examples": ['"3f2c9e0d6c8f4d0b9f0a7c52b1d4e6aa"']},
    },
    "Location": {
        "description": "Where to look next.",
        "schema": {"type": "string", "examples": ["/v1/jobs/job_4Zk0c7tQm2/plan"]},
    },
    "Retry-After": {
        "description": "Seconds to wait. Unit: s.",
        "schema": {"type": "integer", "examples": [1]},
    },
    "Link": {
        "description": "The next page, RFC 8288.",
        "schema": {"type": "string", "examples": ['</v1/jobs?cursor=WyJ…>; rel="next"']},
    },
    "Lapwise-Source": {
        "description": "Whose value this is.",
        "schema": {"type": "string", "enum": ["own", "merchant", "default"], "examples": ["default"]},
    },
    "Lapwise-Read-As": {
        "description": "How the table was read, and the cells that could be read otherwise by themselves.",
        "schema": {
            "type": "string",
            "examples": ["semicolons between cells, decimal commas, days as day.month.year"],
        },
    },
    "RateLimit": {
        "description": "Requests left (r) and seconds until they are renewed (t).",
        "schema": {"type": "string", "examples": ['"requests";r=1198;t=42']},
    },
    "X-Request-Id": {
        "description": "Name this when you ask for help.",
        "schema": {"type": "string", "examples": ["req_4f1a9c0b7d2e8a35"]},
    },
}

PATH_WORDS = {
    "job": "Public name of the job.",
    "key": "Public name of the key.",
    "quote": "Public name of the quote.",
    "order": "Public name of the order.",
    "document": "Public name of the document.",
    "test": "Public name of the fan test.",
    "leak": "Public name of the leak.",
    "model": "Public name of the model that was sent.",
    "surface": "The surface's id within the job.",
    "hook": "Public name of the hook.",
    "delivery": "Public name of the delivery.",
    "batch": "Public name of the batch.",
    "table": "Which table: cut-list, take-off, areas, measured, labour or order-lines.",
}
PATH_EXAMPLES = {
    "job": "job_4Zk0c7tQm2", "key": "key_4Zk0c7tQm2", "quote": "quo_4Zk0c7tQm2", "order": "ord_4Zk0c7tQm2",
    "document": "doc_4Zk0c7tQm2", "test": "tst_4Zk0c7tQm2", "leak": "lek_4Zk0c7tQm2",
    "model": "mod_4Zk0c7tQm2", "surface": "living-north", "hook": "hook_4Zk0c7tQm2",
    "delivery": "dly_4Zk0c7tQm2", "batch": "bat_4Zk0c7tQm2",
    "table": "cut-list",
}  # fmt: skip
