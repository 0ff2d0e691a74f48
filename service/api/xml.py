"""The machine-readable form of a quote or an order, as a worker wrote it beside the PDF."""

from __future__ import annotations

from service.api.operation import Answer, Asked
from service.api.problems import Refusal
from service.records import documents

MEDIA_TYPE = "application/xml"


def xml_of(asked: Asked, *, kind: str, subject_id: str) -> Answer:
    """The stored XML of a quote or order. Raises a 409 until it is written, which is when the PDF is."""
    row = documents.document_of(asked.session, asked.caller.account_id, kind=kind, subject_id=subject_id)
    if row is None:
        raise Refusal(
            "not_rendered_yet",
            "It has not been written yet. Ask again after the seconds in Retry-After; a draft has none.",
            headers={"Retry-After": "1"},
        )
    return Answer(
        documents.content_of(asked.session, row),
        media_type=row.media_type,
        etag=row.sha256,
        headers={"Content-Disposition": f'attachment; filename="{row.filename}"'},
    )
