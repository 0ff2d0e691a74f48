"""Batches: many jobs in one request, how far they are, and what came out of them in one file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from flask import request

from api_schema.agreement import faults_of_claim
from api_schema.batch import (
    MOST_JOBS,
    BatchCounts,
    BatchWish,
    JudgedJob,
    StoredBatch,
    StoredBatchItem,
)
from api_schema.document import DOCUMENT_KINDS
from api_schema.fields import choice, whole
from api_schema.problem import Problem
from api_schema.shape import dump
from service.api.batch_files import CSV, ZIP, results, zipped
from service.api.editing import etag_of
from service.api.examples import JOB
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import MOST, PAGE_PARAMETERS, USUAL, page_of
from service.api.problems import KINDS, Refusal
from service.records import batches as records
from service.records import tables

MOST_ZIP_BYTES = 512 * 1024 * 1024
_RETRY_AFTER_S = "2"

batches = Resource(
    "batches",
    "Batches",
    "Many jobs in one request. Each is judged alone: one that cannot be planned fails alone. Jobs of a batch are "
    "planned behind single jobs, and accounts take turns. Listen for `batch.finished` instead of asking.",
)


@batches.operation(
    "POST",
    "/v1/batches",
    "Send a batch",
    scope="write",
    takes=BatchWish,
    example={"reference": "November plots", "jobs": [JOB, {**JOB, "reference": "PX-015"}]},
    gives={202: StoredBatch},
)
def send_batch(asked: Asked) -> Answer:
    """Stores up to 1 000 jobs and plans them. A request has at most 5 MiB; send several batches where that is too little.

    The answer is 202 however many jobs are refused: read `counts`, and the items for the reason of each.
    """
    wish: BatchWish = asked.body
    row = records.create_batch(
        asked.session,
        asked.caller.account_id,
        reference=wish.reference,
        sent=[_sent(judged) for judged in wish.jobs],
        traceparent=asked.traceparent,
    )
    shown = _shown(asked, row)
    return Answer(
        shown, status=202, headers={"Location": shown["links"]["self"], "Retry-After": _RETRY_AFTER_S}
    )


def _sent(judged: JudgedJob) -> records.Sent:
    faults = judged.faults if judged.job is None else faults_of_claim(judged.job.agreement)
    if judged.job is not None and not faults:
        return records.Sent(judged.reference, dump(judged.job))
    kind, count = KINDS["bad_input"], len(faults)
    problem = Problem(
        type=f"/problems/{kind.code}",
        title=kind.title,
        status=kind.status,
        code=kind.code,
        detail="1 thing needs correcting." if count == 1 else f"{count} things need correcting.",
        errors=faults,
    )
    return records.Sent(judged.reference, None, problem)


def _shown(asked: Asked, row: tables.Batch) -> dict[str, Any]:
    found = records.counts_of(asked.session, row.id)
    counts = BatchCounts(**{name: found.get(name, 0) for name in BatchCounts.__slots__})  # type: ignore[attr-defined]
    ended = row.total - counts.queued - counts.running
    here = address(f"/v1/batches/{row.id}")
    return dump(
        StoredBatch(
            id=row.id,
            reference=row.reference,
            total=row.total,
            counts=counts,
            progress=(Decimal(ended) / row.total).quantize(Decimal("0.001")),
            documents=records.documents_of(asked.session, row.id),
            final=row.finished_at is not None,
            created_at=row.created_at,
            finished_at=row.finished_at,
            links={
                "self": here,
                "items": f"{here}/items",
                "results": f"{here}/results.csv",
                "documents": f"{here}/documents.zip",
            },
        )
    )


@batches.operation(
    "GET",
    "/v1/batches",
    "List the batches",
    scope="read",
    gives={200: ListOf(StoredBatch)},
    query=PAGE_PARAMETERS,
)
def list_batches(asked: Asked) -> Answer:
    """Lists your batches, newest first, with how far they are."""
    return page_of(
        asked.query,
        lambda limit, after: records.list_batches(
            asked.session, asked.caller.account_id, limit=limit, after=after
        ),
        lambda row: _shown(asked, row),
    )


@batches.operation(
    "GET",
    "/v1/batches/{batch}",
    "Read a batch",
    scope="read",
    gives={200: StoredBatch},
    may_answer=(404,),
    etag=True,
)
def read_batch(asked: Asked, batch: str) -> Answer:
    """Gives the counts of a batch by state. While it is not final the answer carries `Retry-After`."""
    shown = _shown(asked, records.get_batch(asked.session, asked.caller.account_id, batch))
    headers = {} if shown["final"] else {"Retry-After": _RETRY_AFTER_S}
    return Answer(shown, etag=etag_of("batch", json.dumps(shown, sort_keys=True)), headers=headers)


@batches.operation(
    "GET",
    "/v1/batches/{batch}/items",
    "List a batch's jobs",
    scope="read",
    gives={200: ListOf(StoredBatchItem)},
    query={
        "limit": whole(f"How many at most; {USUAL} where not said.", example=20, minimum=1, maximum=MOST),
        "first": whole("From this position on; 0 where not said.", example=50, maximum=MOST_JOBS - 1),
    },
    may_answer=(404,),
)
def list_batch_items(asked: Asked, batch: str) -> Answer:
    """Lists the jobs of a batch in the order they were sent: refused ones with what is wrong, failed ones with why."""
    row = records.get_batch(asked.session, asked.caller.account_id, batch)
    limit, first = asked.query.get("limit") or USUAL, asked.query.get("first") or 0
    found = records.list_items(asked.session, row.id, limit=limit, after=first - 1)
    body: dict[str, Any] = {"items": [_item(item, run) for item, run in found]}
    headers: Mapping[str, str] = {}
    if first + limit < row.total:
        following = f"{request.path}?limit={limit}&first={first + limit}"
        body["next"], headers = following, {"Link": f'<{following}>; rel="next"'}
    return Answer(body, headers=headers)


def _item(item: tables.BatchItem, run: tables.Run | None) -> dict[str, Any]:
    job = None if item.job_id is None else address(f"/v1/jobs/{item.job_id}")
    links = {} if job is None else {"job": job, "plan": f"{job}/plan", "documents": f"{job}/documents"}
    return dump(
        StoredBatchItem(
            position=item.position,
            reference=item.reference,
            status="refused" if run is None else run.state,  # type: ignore[arg-type]
            job=item.job_id,
            problem=None,
            links=links,
        )
    ) | {"problem": item.problem if run is None else run.problem}


@batches.operation(
    "GET",
    "/v1/batches/{batch}/results.csv",
    "Fetch the results as a table",
    scope="read",
    gives={
        200: Media("text/csv", "A line for each job: reference, state, areas, rolls, hours, price, problem.")
    },
    may_answer=(404,),
)
def read_results(asked: Asked, batch: str) -> Answer:
    """Gives a line for each job, in the order they were sent; what is not planned yet has empty places.

    UTF-8, commas, dots in numbers, a line of names first (RFC 4180).
    """
    row = records.get_batch(asked.session, asked.caller.account_id, batch)
    return Answer(
        results(asked.session, row.id).encode(),
        media_type=CSV,
        headers={"Content-Disposition": f'attachment; filename="{row.id}.csv"'},
    )


@batches.operation(
    "GET",
    "/v1/batches/{batch}/documents.zip",
    "Fetch the documents as one file",
    scope="read",
    gives={200: Media(ZIP, "Every document stored so far, in a folder for each job.")},
    query={
        "kind": choice("Only documents of this kind.", DOCUMENT_KINDS),
        "first": whole("From this position on; 0 where not said.", example=0, maximum=MOST_JOBS - 1),
        "last": whole("Up to this position; to the end where not said.", example=199, maximum=MOST_JOBS - 1),
    },
    may_answer=(404, 409),
)
def read_batch_documents(asked: Asked, batch: str) -> Answer:
    """Gives what is stored so far of the batch's documents as one ZIP file of at most 512 MiB."""
    row = records.get_batch(asked.session, asked.caller.account_id, batch)
    last = asked.query.get("last")
    found = records.papers(
        asked.session,
        row.account_id,
        row.id,
        kind=asked.query.get("kind"),
        first=asked.query.get("first") or 0,
        last=MOST_JOBS if last is None else last,
    )
    size = sum(document.size for _, _, document in found)
    if size > MOST_ZIP_BYTES:
        raise Refusal(
            "batch_too_big_at_once",
            f"These documents have {size // 1024**2} MiB, a file at most {MOST_ZIP_BYTES // 1024**2}. "
            "Ask for a part with `first` and `last`, or for one `kind`.",
        )
    return Answer(
        zipped(asked.store, found),
        media_type=ZIP,
        headers={"Content-Disposition": f'attachment; filename="{row.id}.zip"'},
    )
