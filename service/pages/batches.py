"""Batches: many jobs from one file, how far they are, and what came out of them."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.batch import BatchWish
from api_schema.problem import Fault
from service.api import strict_json
from service.api.editing import loaded
from service.api.operation import Answer
from service.api.paging import page_of
from service.api.problems import Refusal, bad_input
from service.pages import wording
from service.pages.jobs import STATES
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go
from service.records import batches

_PAGE, _MOST_ITEMS = 25, 1000


def add_batches(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/batches", batch_list, scope="write", methods=("GET", "POST"))
    pages.add("/batches/<batch>", batch_page)
    pages.add("/batches/<batch>/results.csv", results)
    pages.add("/batches/<batch>/documents.zip", papers)


def batch_list(visit: Visit) -> Response:
    """Every batch with its progress, and the form for the next file."""
    if request.method == "GET":
        return _list(visit)
    try:
        made = ask(visit, "send_batch", body=loaded(BatchWish, _sent()))
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _list(visit, refusal.faults, status=422)
    return go(f"/batches/{made.body['id']}", "batch")


def _sent() -> dict[str, Any]:
    """The jobs of the file that was sent: a list of jobs, or an object that holds one under "jobs"."""
    file = request.files.get("jobs")
    content = file.read() if file is not None else b""
    if not content.strip():
        raise bad_input((Fault("/jobs", "is empty; choose a file of jobs."),))
    try:
        jobs = strict_json.read(content)
    except strict_json.NotJson as error:
        raise bad_input((Fault("/jobs", str(error)),)) from None
    reference = request.form.get("reference", "").strip()
    if isinstance(jobs, list):
        return {"jobs": jobs, "reference": reference}
    return (
        {**jobs, "reference": reference or jobs.get("reference", "")}
        if isinstance(jobs, dict)
        else {"jobs": jobs}
    )


def _list(visit: Visit, faults: Any = (), *, status: int = 200) -> Response:
    found = page_of(
        {"limit": _PAGE, "cursor": request.args.get("cursor")},
        lambda limit, after: batches.list_batches(visit.session, visit.account_id, limit=limit, after=after),
        lambda row: ask(visit, "read_batch", row.id).body,
    ).body
    return visit.page(
        "batches.html", status=status, title="Batches", part="/jobs", items=found["items"], following=found.get("next"),
        faults=faults, moving=any(not one["final"] for one in found["items"]),
    )  # fmt: skip


def batch_page(visit: Visit, batch: str) -> Response:
    """One batch: counts, and each job with why where it could not be planned."""
    shown = ask(visit, "read_batch", batch).body
    items = batches.list_items(visit.session, batch, limit=_MOST_ITEMS, after=-1)
    rows = [
        {
            "item": item,
            "state": "refused" if run is None else run.state,
            "problem": item.problem if run is None else run.problem,
        }
        for item, run in items
    ]
    return visit.page(
        "batch.html", title="Batch", part="/jobs", batch=shown, rows=rows, moving=not shown["final"],
        states=STATES, place_words=wording.place,
    )  # fmt: skip


def results(visit: Visit, batch: str) -> Response:
    """A line for each job."""
    return _file(ask(visit, "read_results", batch))


def papers(visit: Visit, batch: str) -> Response:
    """Every document stored so far."""
    return _file(ask(visit, "read_batch_documents", batch))


def _file(answer: Answer) -> Response:
    response = Response(answer.body, content_type=answer.media_type)
    for name, value in answer.headers.items():
        response.headers[name] = value
    return response
