"""Building models: a designer's file in, how far it is read, what was found in it in words, and a job begun from that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from flask import Response, request

from service.api.models import MOST_REQUEST_BYTES, store_model
from service.api.problems import Refusal
from service.pages.operations import ask
from service.pages.pictures import surface_picture
from service.pages.serving import Pages, Visit, go

_PAGE = 25
_MOST_PICTURES = 60


def add_models(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/models", model_list, scope="write", methods=("GET", "POST"), most_bytes=MOST_REQUEST_BYTES)
    pages.add("/models/<model>", model_page)


def model_list(visit: Visit) -> Response:
    """Every model that was sent, and the form for the next."""
    if request.method == "GET":
        return _list(visit)
    file = request.files.get("file")
    try:
        made = store_model(
            visit.asked(), (file.filename or "") if file else "", file.stream.read() if file else b""
        )
    except Refusal as refusal:
        said = [fault.detail for fault in refusal.faults] or [refusal.detail]
        return _list(visit, said, status=refusal.kind.status)
    return go(f"/models/{made.body['id']}", "model")


def _list(visit: Visit, faults: list[str] | None = None, *, status: int = 200) -> Response:
    found = ask(visit, "list_models", query={"limit": _PAGE, "cursor": request.args.get("cursor")}).body
    return visit.page(
        "models.html", status=status, title="Building models", items=found["items"], following=found.get("next"),
        faults=faults or [], moving=any(not one["final"] for one in found["items"]),
    )  # fmt: skip


def model_page(visit: Visit, model: str) -> Response:
    """One model: being read, or what it proposes and what has to be looked at."""
    shown = ask(visit, "read_model", model).body
    proposal = shown["proposal"]
    return visit.page(
        "model.html", title="Building model", model=shown, proposal=proposal, moving=not shown["final"],
        found=_found(proposal) if proposal else [], picture=surface_picture, most=_MOST_PICTURES,
    )  # fmt: skip


def _found(proposal: Mapping[str, Any]) -> list[tuple[str, int]]:
    """What the proposed survey holds: how many of each kind, in the order a fitter meets them."""
    surfaces = proposal["surfaces"]
    kinds = Counter(surface["kind"] for surface in surfaces)
    openings = Counter(opening["kind"] for surface in surfaces for opening in surface["openings"])
    through = sum(len(surface["penetrations"]) for surface in surfaces)
    return [*kinds.items(), *openings.items(), *([("pipe or cable", through)] if through else [])]


def job_from(visit: Visit, model: str) -> dict[str, Any]:
    """The JSON of a job that begins with what a model proposes. Raises Refusal while it is not read."""
    shown = ask(visit, "read_model", model).body
    proposal = shown["proposal"]
    if proposal is None:
        raise Refusal("conflict", "This model has not been read. Open it to see how far it is.")
    return {
        "title": shown["filename"].rsplit(".", 1)[0],
        "surfaces": proposal["surfaces"],
        "junctions": proposal["junctions"],
        "volume_m3": proposal["volume_m3"],
    }
