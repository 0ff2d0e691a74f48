"""Documents: what was rendered for a job, and its bytes."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from typing import Any

from api_schema.document import DOCUMENT_KINDS, Document
from api_schema.fields import choice
from api_schema.shape import dump
from service.api.editing import etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import whole_list
from service.api.plans import RETRY_AFTER_S, is_final, latest
from service.api.problems import Refusal
from service.records import documents as records
from service.records import drawings, runs, tables

documents = Resource(
    "documents",
    "Documents",
    "PDFs of quotes, orders and site packs, and drawings: stored once, never changed, with their SHA-256.",
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


@documents.operation(
    "GET",
    "/v1/jobs/{job}/drawings/{surface}.pdf",
    "Fetch a drawing as PDF",
    scope="read",
    gives={
        200: Media(
            "application/pdf", "The surface on a sheet of A4 with a title block, to an ISO 5455 scale."
        )
    },
    may_answer=(404, 409),
    etag=True,
)
def read_drawing_pdf(asked: Asked, job: str, surface: str) -> Answer:
    """Gives one surface of the newest plan as a PDF of one page, as its SVG shows it.

    It is made when `drawing_files` are asked for with `POST /v1/jobs/{job}/documents`; 409 until then.
    """
    return _drawn(asked, job, surface, "pdf", "application/pdf")


@documents.operation(
    "GET",
    "/v1/jobs/{job}/drawings/{surface}.dxf",
    "Fetch a drawing as DXF",
    scope="read",
    gives={
        200: Media(
            "image/vnd.dxf", "The surface in millimetres, 1:1 in model space, a layer for each kind of thing."
        )
    },
    may_answer=(404, 409),
    etag=True,
)
def read_drawing_dxf(asked: Asked, job: str, surface: str) -> Answer:
    """Gives one surface of the newest plan as DXF, at its true size in millimetres.

    Layers: OUTLINE, OPENINGS, STRIPS, LAPS, MEMBERS, PENETRATIONS, TEXT and DIMENSIONS. It is made when
    `drawing_files` are asked for with `POST /v1/jobs/{job}/documents`; 409 until then.
    """
    return _drawn(asked, job, surface, "dxf", "image/vnd.dxf")


def _drawn(asked: Asked, job: str, surface: str, ending: str, media_type: str) -> Answer:
    """One file out of the ZIP that a worker made. Raises NotFound and Refusal."""
    account_id = asked.caller.account_id
    run = latest(asked, job)
    if run.state != "ready":
        headers = {} if is_final(run) else {"Retry-After": str(RETRY_AFTER_S)}
        raise Refusal("plan_not_ready", f"The plan is {run.state}.", headers=headers)
    runs.get_drawing(asked.session, account_id, run.id, surface)
    subject = drawings.files_subject(asked.session, account_id, run.id)
    row = records.document_of(asked.session, account_id, kind=drawings.FILES, subject_id=subject)
    if row is None:
        making = runs.render_of(asked.session, account_id, kind=drawings.FILES, subject_id=subject)
        under_way = making is not None and not is_final(making)
        raise Refusal(
            "not_rendered_yet",
            "It is being made. Ask again after the seconds in Retry-After."
            if under_way
            else f"Ask for it first: POST /v1/jobs/{job}/documents with the kind drawing_files.",
            headers={"Retry-After": str(RETRY_AFTER_S)} if under_way else {},
        )
    with zipfile.ZipFile(io.BytesIO(records.content_of(asked.session, row))) as file:
        content = file.read(f"{surface}.{ending}")
    return Answer(
        content,
        media_type=media_type,
        etag=etag_of(ending, row.sha256, surface),
        headers={"Content-Disposition": f'attachment; filename="{surface}.{ending}"'},
    )
