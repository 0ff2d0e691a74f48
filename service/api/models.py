"""Designers' models: an IFC file in, a proposed survey out."""

from __future__ import annotations

import io
import re
from typing import Any

from flask import request
from sqlalchemy.orm import Session
from werkzeug.formparser import MultiPartParser

from api_schema.problem import Fault
from api_schema.tested import ModelSummary, StoredModel
from service.api.editing import etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import PAGE_PARAMETERS, page_of
from service.api.problems import Refusal, bad_input
from service.api.running import answer_of, standing
from service.records import models as records
from service.records import runs, tables

models = Resource(
    "models",
    "Models",
    "A designer's model as an IFC file (IFC2x3 or IFC4) in; a proposed survey out, with a list of what could not be "
    "placed. Nothing of it is planned before you confirm it.",
)
MOST_BYTES = 20 * 1024 * 1024
MOST_REQUEST_BYTES = MOST_BYTES + 64 * 1024  # the form round the file


def _few_words(row: tables.ModelFile, run: tables.Run) -> dict[str, Any]:
    return {
        "id": row.id,
        "filename": row.filename,
        **standing(run),
        "created_at": row.created_at.isoformat(),
        "links": {"self": address(f"/v1/surveys/{row.id}")},
    }


def _answer(asked: Asked, model_id: str, *, made: bool = False) -> Answer:
    account_id = asked.caller.account_id

    def show(session: Session, run: tables.Run) -> Answer:
        row = records.get_model(session, account_id, model_id)
        body = {
            **_few_words(row, run),
            "size": row.size,
            "sha256": row.sha256,
            "problem": run.problem,
            "proposal": row.reading,
        }
        return Answer(body, etag=etag_of("model", row.id, run.state))

    run = runs.get_run(
        asked.session, account_id, records.get_model(asked.session, account_id, model_id).run_id
    )
    return answer_of(asked, run, show, made=address(f"/v1/surveys/{model_id}") if made else None)


@models.operation(
    "POST",
    "/v1/surveys",
    "Send a model",
    scope="write",
    takes_bytes=Media(
        "multipart/form-data",
        "A form with one part named `file`: the IFC file itself (ISO 10303-21, not zipped), 20 MiB at most.",
    ),
    most_bytes=MOST_REQUEST_BYTES,
    gives={201: StoredModel, 202: StoredModel},
    waits=True,
    etag=True,
)
def send_model(asked: Asked) -> Answer:
    """Stores an IFC file and reads it: spaces, the inner faces round them, windows and doors.

    The answer's `proposal` is a survey to be confirmed: look through its notes and `unplaced`, put right what is
    not, and send its surfaces and junctions as a job. A broken file, one that is too large, or one that takes too
    long or too much memory ends with a problem that says what to do.
    """
    name, content = _file_of(asked.body)
    return store_model(asked, name, content)


def store_model(asked: Asked, filename: str, content: bytes) -> Answer:
    """Stores one file under a plain name and has it read; refuses an empty one and one that is too large."""
    if not content:
        raise bad_input((Fault("/file", "is empty; send the .ifc file itself."),))
    if len(content) > MOST_BYTES:
        raise Refusal(
            "too_large",
            "A model may have 20 MiB at most. Export one storey, or leave furniture and services out.",
        )
    plain = re.sub(r"[^A-Za-z0-9 ._-]+", "-", filename.replace("\\", "/").rsplit("/", 1)[-1])
    row = records.add_model(
        asked.session,
        asked.caller.account_id,
        filename=plain.strip(" .-")[:100] or "model.ifc",
        content=content,
        traceparent=asked.traceparent,
    )
    return _answer(asked, row.id, made=True)


@models.operation(
    "GET",
    "/v1/surveys",
    "List the models",
    scope="read",
    gives={200: ListOf(ModelSummary)},
    query=PAGE_PARAMETERS,
)
def list_models(asked: Asked) -> Answer:
    """Lists the models you sent, newest first, with how far they are read."""
    account_id = asked.caller.account_id
    return page_of(
        asked.query,
        lambda limit, after: records.list_models(asked.session, account_id, limit=limit, after=after),
        lambda row: _few_words(row, runs.get_run(asked.session, account_id, row.run_id)),
    )


@models.operation(
    "GET",
    "/v1/surveys/{model}",
    "Read a proposed survey",
    scope="read",
    gives={200: StoredModel},
    may_answer=(404,),
    waits=True,
    etag=True,
)
def read_model(asked: Asked, model: str) -> Answer:
    """Gives the survey a model proposes once it is read, with what could not be placed and what was assumed.

    While it is not final the answer carries `Retry-After`; `Prefer: wait=N` holds it.
    """
    return _answer(asked, model)


def _file_of(raw: bytes) -> tuple[str, bytes]:
    """The name and the bytes of the form's one file."""
    boundary = request.mimetype_params.get("boundary", "").encode("ascii", errors="replace")
    try:
        parser = MultiPartParser(
            stream_factory=lambda *_, **__: io.BytesIO(),  # all of it is in memory already
            max_form_memory_size=512 * 1024,  # of what is not the file
            max_form_parts=20,
        )
        form, files = parser.parse(io.BytesIO(raw), boundary, len(raw))
    except (ValueError, UnicodeError):
        raise Refusal(
            "bad_request", "The form cannot be read; send it as multipart/form-data, RFC 7578."
        ) from None
    sent = files.getlist("file")
    if len(sent) != 1 or len(files) != 1 or len(form) != 0:
        raise bad_input((Fault("/file", "must be there once, and nothing beside it: a form with one file."),))
    return sent[0].filename or "", sent[0].stream.read()
