"""Documents: what was rendered for a job, and its bytes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from api_schema.document import DOCUMENT_KINDS, Document
from api_schema.fields import choice
from api_schema.shape import dump
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import whole_list
from service.api.plans import RETRY_AFTER_S
from service.records import documents as records
from service.records import runs, tables

documents = Resource(
    "documents",
    "Documents",
    "PDFs of quotes, orders and site packs: stored once, never changed, with their SHA-256.",
)


def shown(row: tables.Document) -> dict[str, Any]:
    """What is known of a document, as JSON."""
    return dump(
        Document(
            id=row.id,
            kind=row.kind,  # type: ignore[arg-type]
            of=row.subject_id,
            filename=row.filename,
            media_type=row.media_type,
            size=row.size,
            sha256=row.sha256,
            created_at=row.created_at,
            content=address(f"/v1/documents/{row.id}"),
        )
    )


@documents.operation(
    "GET",
    "/v1/jobs/{job}/documents",
    "List a job's documents",
    scope="read",
    gives={200: ListOf(Document)},
    query={"kind": choice("Only documents of this kind.", DOCUMENT_KINDS)},
    may_answer=(404,),
)
def list_documents(asked: Asked, job: str) -> Answer:
    """Lists the documents of a job that are rendered, oldest first.

    `Retry-After` says that more are on their way. The site pack is rendered with every plan, quotes and orders once
    they are made.
    """
    on_their_way = any(
        run.state in ("queued", "running")
        for run in runs.renders_of(asked.session, asked.caller.account_id, job)
    )
    answer = whole_list(
        records.list_documents(asked.session, asked.caller.account_id, job, kind=asked.query.get("kind")),
        shown,
    )
    return replace(answer, headers={"Retry-After": str(RETRY_AFTER_S)}) if on_their_way else answer


@documents.operation(
    "GET",
    "/v1/documents/{document}",
    "Fetch a document",
    scope="read",
    gives={200: Media("application/pdf", "The document's bytes; its ETag is their SHA-256.")},
    may_answer=(404,),
    etag=True,
)
def read_document(asked: Asked, document: str) -> Answer:
    """Gives the bytes of a document, with a sensible file name. They never change, so they may be kept for good."""
    row = records.get_document(asked.session, asked.caller.account_id, document)
    return Answer(
        records.content_of(asked.session, row),
        media_type=row.media_type,
        etag=row.sha256,
        headers={"Content-Disposition": f'attachment; filename="{row.filename}"'},
        cache="private, max-age=31536000, immutable",
    )
