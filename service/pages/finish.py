"""The end of a job: what was really used and what is left, said on the page of the crew."""

from __future__ import annotations

from flask import Response, request

from api_schema.finish import FinishWish
from api_schema.offcut import OffcutWish
from api_schema.problem import Fault
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages.fit import show_fit
from service.pages.forms import Form, tree, typed
from service.pages.jobs import head_of
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go


def add_finish(pages: Pages) -> None:
    """Routes what the form does."""
    pages.add("/jobs/<job>/finish", finish, scope="write", methods=("POST",))


def finish(visit: Visit, job: str) -> Response:
    """Takes what was used off stock and keeps what is left; or only the latter, while the job goes on."""
    keep = tuple(int(word) for word in request.form.getlist("keep") if word.isdecimal() and len(word) < 6)
    if request.form.get("do") == "keep":
        ask(visit, "keep_offcuts", job, body=OffcutWish(keep=keep))
        return go(f"/jobs/{job}/fit#end", "offcuts_kept")
    form = tree({name: request.form[name] for name in request.form})
    rows = [row if isinstance(row, dict) else {} for row in form.get("used", [])]
    sent = [place for place, row in enumerate(rows) if row.get("packs", "").strip()]
    try:
        data = typed(FinishWish, {"used": [rows[place] for place in sent]})
        ask(visit, "finish_job", job, body=loaded(FinishWish, {**data, "keep": list(keep)}))
    except Refusal as refusal:
        if not refusal.faults:
            raise
        faults = [Fault(_back(fault.pointer, sent), fault.detail) for fault in refusal.faults]
        return show_fit(visit, head_of(visit, job), ending=Form(form, faults), kept=keep, status=422)
    return go(f"/jobs/{job}/ledger", "finished")


def _back(pointer: str, sent: list[int]) -> str:
    """A pointer at the rows of the form again: rows left empty were not sent."""
    steps = pointer.split("/")
    if len(steps) > 2 and steps[1] == "used" and steps[2].isdecimal():
        steps[2] = str(sent[int(steps[2])])
    return "/".join(steps)
