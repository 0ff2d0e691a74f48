"""Designers' models that were sent, and the surveys they propose."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.records.errors import NotFound
from service.records.ids import new_id
from service.records.paging import Place, newest_first
from service.records.runs import queue_work
from service.records.store import now_of
from service.records.tables import Blob, ModelFile
from service.records.upsert import insert_unless_there


def add_model(
    session: Session, account_id: str, *, filename: str, content: bytes, traceparent: str | None = None
) -> ModelFile:
    """Stores a model's bytes and queues the reading of it."""
    sha256 = hashlib.sha256(content).hexdigest()
    insert_unless_there(session, Blob, account_id=account_id, sha256=sha256, content=content)
    model_id = new_id("mod")
    run = queue_work(session, account_id, kind="read", subject_id=model_id, traceparent=traceparent)
    model = ModelFile(
        id=model_id,
        account_id=account_id,
        run_id=run.id,
        filename=filename,
        sha256=sha256,
        size=len(content),
        created_at=now_of(session),
    )
    session.add(model)
    session.flush()
    return model


def get_model(session: Session, account_id: str, model_id: str) -> ModelFile:
    """What is known of a model. Raises NotFound."""
    model = session.scalar(
        select(ModelFile).where(ModelFile.account_id == account_id, ModelFile.id == model_id)
    )
    if model is None:
        raise NotFound("model")
    return model


def list_models(
    session: Session, account_id: str, *, limit: int, after: Place | None = None
) -> list[ModelFile]:
    """The account's models, newest first; `after` is (created_at, id) of the last one seen."""
    query = select(ModelFile).where(ModelFile.account_id == account_id)
    page = newest_first(query, ModelFile.created_at, ModelFile.id, limit=limit, after=after)
    return list(session.scalars(page))


def bytes_of(session: Session, model: ModelFile) -> bytes:
    """The file as it was sent. Raises NotFound."""
    blob = session.get(Blob, (model.account_id, model.sha256))
    if blob is None:
        raise NotFound("model")
    return blob.content


def model_read(session: Session, account_id: str, model_id: str, reading: dict[str, Any]) -> None:
    """Stores the survey a model proposes. Call with the run finished."""
    session.execute(
        update(ModelFile)
        .where(ModelFile.account_id == account_id, ModelFile.id == model_id)
        .values(reading=reading)
        .execution_options(synchronize_session=False)
    )
