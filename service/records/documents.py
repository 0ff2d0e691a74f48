"""Documents: bytes stored once, never changed."""

from __future__ import annotations

import hashlib
import re
import unicodedata

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.errors import NotFound
from service.records.events import tell
from service.records.ids import new_id
from service.records.jobs import get_job
from service.records.store import now_of
from service.records.tables import Blob, Document
from service.records.upsert import insert_unless_there

PDF = "application/pdf"


def add_document(
    session: Session,
    account_id: str,
    job_id: str,
    *,
    kind: str,
    subject_id: str,
    filename: str,
    content: bytes,
    media_type: str = PDF,
) -> Document:
    """Stores a document. Where the account has one of that kind and subject already, gives that one unchanged."""
    there = session.scalar(
        select(Document).where(
            Document.account_id == account_id, Document.kind == kind, Document.subject_id == subject_id
        )
    )
    if there is not None:
        return there
    sha256 = hashlib.sha256(content).hexdigest()
    insert_unless_there(session, Blob, account_id=account_id, sha256=sha256, content=content)
    document = Document(
        id=new_id("doc"),
        account_id=account_id,
        job_id=job_id,
        kind=kind,
        subject_id=subject_id,
        filename=filename,
        media_type=media_type,
        sha256=sha256,
        size=len(content),
        created_at=now_of(session),
    )
    session.add(document)
    session.flush()
    tell(
        session,
        account_id,
        "document.ready",
        subject=f"/v1/documents/{document.id}",
        data={"document": document.id, "kind": kind, "of": subject_id, "job": job_id, "sha256": sha256},
    )
    return document


def get_document(session: Session, account_id: str, document_id: str) -> Document:
    """What is known of the document. Raises NotFound."""
    document = session.scalar(
        select(Document).where(Document.account_id == account_id, Document.id == document_id)
    )
    if document is None:
        raise NotFound("document")
    return document


def content_of(session: Session, document: Document) -> bytes:
    """Its bytes."""
    blob = session.get(Blob, (document.account_id, document.sha256))
    if blob is None:
        raise NotFound("document")
    return blob.content


def list_documents(
    session: Session, account_id: str, job_id: str, *, kind: str | None = None
) -> list[Document]:
    """Every document of a job, oldest first. Raises NotFound for the job."""
    get_job(session, account_id, job_id)
    query = select(Document).where(Document.account_id == account_id, Document.job_id == job_id)
    if kind is not None:
        query = query.where(Document.kind == kind)
    return list(session.scalars(query.order_by(Document.created_at, Document.id)))


def document_of(session: Session, account_id: str, *, kind: str, subject_id: str) -> Document | None:
    """The document of a quote, an order or a plan's run; None until it is rendered."""
    return session.scalar(
        select(Document).where(
            Document.account_id == account_id, Document.kind == kind, Document.subject_id == subject_id
        )
    )


def safe_name(*parts: str) -> str:
    """A file name of plain characters: ``quote-2026-0001-1.pdf``."""
    plain = unicodedata.normalize("NFKD", "-".join(parts)).encode("ascii", "ignore").decode()
    dashed = re.sub(r"[-.]{2,}", "-", re.sub(r"[^A-Za-z0-9._-]+", "-", plain))
    return dashed.strip("-.")[:120] + ".pdf"
