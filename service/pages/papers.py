"""Documents: which there are, which are on their way, and their bytes for a browser that is signed in."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Response, request

from service.pages.serving import Pages, Visit
from service.records import documents, runs, tables


@dataclass(frozen=True, slots=True)
class Papers:
    """The documents of a job."""

    ready: list[tables.Document]
    coming: list[tables.Run]
    failed: list[tables.Run]

    def of(self, kind: str, subject_id: str) -> tables.Document | None:
        """The document that shows that quote, order or plan."""
        return next((one for one in self.ready if (one.kind, one.subject_id) == (kind, subject_id)), None)

    def is_coming(self, kind: str, subject_id: str) -> bool:
        """Is it being rendered?"""
        return any((one.document_kind, one.subject_id) == (kind, subject_id) for one in self.coming)


def papers_of(visit: Visit, job: str) -> Papers:
    """The documents of a job, and what is still being made. Raises NotFound."""
    waiting = runs.renders_of(visit.session, visit.account_id, job)
    return Papers(
        ready=documents.list_documents(visit.session, visit.account_id, job),
        coming=[run for run in waiting if run.state in ("queued", "running")],
        failed=[run for run in waiting if run.state == "failed"],
    )


def add_papers(pages: Pages) -> None:
    """Routes the documents."""
    pages.add("/documents/<document>", paper)


def paper(visit: Visit, document: str) -> Response:
    """The bytes of a document; shown in the browser unless `?keep` asks to save it."""
    row = documents.get_document(visit.session, visit.account_id, document)
    response = Response(documents.content_of(visit.session, row), content_type=row.media_type)
    way = "attachment" if "keep" in request.args or row.media_type != "application/pdf" else "inline"
    response.headers["Content-Disposition"] = f'{way}; filename="{row.filename}"'
    response.headers["Content-Security-Policy"] = (
        "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
    )
    response.headers["Cache-Control"] = "private, max-age=3600"
    return response
