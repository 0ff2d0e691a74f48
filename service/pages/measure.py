"""Measuring: the page a job is described on, from the first wall to the last pipe."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.building import ROOF_FORMS
from api_schema.job import Job
from api_schema.problem import Fault
from api_schema.stored import JobEdit
from api_schema.surface import FINISHES, OPENING_KINDS, PENETRATION_KINDS, RUNS, SURFACE_KINDS
from api_schema.survey import find_faults
from service.api import jobs as operations
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages import wording
from service.pages.forms import Form, tree
from service.pages.job_form import form_of, job_of
from service.pages.job_rows import act, new_form
from service.pages.jobs import Head, head_of
from service.pages.models import job_from
from service.pages.price_form import rate_choices
from service.pages.serving import Pages, Visit, go
from service.records import runs
from service.records.own_values import get_value

_WORDS = {
    "surface_kinds": SURFACE_KINDS, "finishes": FINISHES, "opening_kinds": OPENING_KINDS,
    "penetration_kinds": PENETRATION_KINDS, "runs": RUNS, "roof_forms": ROOF_FORMS,
}  # fmt: skip


def add_measure(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/new", new, scope="write", methods=("GET", "POST"))
    pages.add("/jobs/<job>/measure", measure, scope="write", methods=("GET", "POST"))


def new(visit: Visit) -> Response:
    """A job that is not there yet."""
    if request.method == "GET":
        model = request.args.get("model", "")
        if model:
            body = {**new_form(building=False), **job_from(visit, model)}
            return _shown(visit, None, _JobForm(form_of(body)))
        start = request.args.get("from", "")
        if start not in ("building", "surfaces"):
            return visit.page("new.html", title="New job")
        return _shown(visit, None, _JobForm(new_form(building=start == "building"), opened=("/surfaces/0",)))
    return _sent(visit, None)


def measure(visit: Visit, job: str) -> Response:
    """A job as it stands."""
    head = head_of(visit, job)
    if request.method == "GET":
        at = request.args.get("at", "")
        taken = request.args.get("take", "")
        if taken:
            body, at = _with_derived(visit, head, taken)
            return _shown(visit, head, _JobForm(form_of(body, (at,)), opened=(at,)))
        return _shown(visit, head, _JobForm(form_of(head.body, (at,)), opened=(at,) if at else ()))
    return _sent(visit, head)


def _with_derived(visit: Visit, head: Head, name: str) -> tuple[dict[str, Any], str]:
    """The job with one surface that was derived from its building beside it, to be changed by hand, and where it stands."""
    if head.run is None:
        raise Refusal("not_planned")
    survey = runs.get_part(visit.session, visit.account_id, head.run.id, "survey")
    found = [surface for surface in survey["surfaces"] if surface["id"] == name]
    surfaces = [surface for surface in head.body["surfaces"] if surface["id"] != name] + found
    return {**head.body, "surfaces": surfaces}, f"/surfaces/{len(surfaces) - 1}"


def _sent(visit: Visit, head: Head | None) -> Response:
    words = {name: request.form.getlist(name)[-1].replace("\r\n", "\n") for name in request.form}
    form = tree(words)
    action = words.get("do", "plan")
    if action not in ("save", "plan"):
        return _shown(visit, head, _JobForm(form, opened=(act(form, action),)), part=True)
    data, faults = job_of(form)
    if head is not None and head.body.get("agreement"):
        data["agreement"] = head.body["agreement"]  # the form has no field for it
    try:
        return _stored(visit, head, {**data, "plan": action == "plan"}, faults)
    except Refusal as refusal:
        found = faults + [fault for fault in refusal.faults if fault not in faults]
        if refusal.kind.status == 412:
            found = [Fault("", "Somebody else saved this job since you opened it. Open it in a second window, and enter your change there.")]  # fmt: skip
        elif not found:
            raise
        return _shown(visit, head, _JobForm(form, found), status=refusal.kind.status)


def _stored(visit: Visit, head: Head | None, data: dict[str, Any], unread: list[Fault]) -> Response:
    """Stores the job by the API's own operations. Raises Refusal with every fault, also where the form was unread in part."""
    job = loaded(Job if head is None else JobEdit, data)
    faults = unread or find_faults(job)  # with lengths unread, what is made of them means nothing
    if faults:
        raise Refusal("bad_input", faults=faults)
    if head is None:
        answer = operations.send_job(visit.asked(job))
    else:
        answer = operations.change_job(visit.asked(job, if_match=request.form.get("etag", "")), head.row.id)
    here = f"/jobs/{answer.body['id']}"
    return go(f"{here}/plan", "planning") if data["plan"] else go(f"{here}/measure", "saved")


class _JobForm(Form):
    """The form with what only a job has."""

    def name_of(self, place: int) -> str:
        """The name of a surface, unfolded or not."""
        return self.value(f"/surfaces/{place}/id") or str(
            (self.whole(f"/surfaces/{place}") or {}).get("id", "")
        )

    def place_words(self, pointer: str) -> str:
        """A pointer as people read it, with the names that were given: "opening w1, width"."""
        return wording.place(pointer, lambda at: self.value(f"{at}/id"))

    def wall_names(self) -> list[str]:
        """Every wall and dormer of the building."""
        names = [
            words
            for name, words in self.flat.items()
            if "/wall_names/" in name or (name.endswith("/id") and "/dormers/" in name)
        ]
        return list(dict.fromkeys(names))


def _shown(
    visit: Visit, head: Head | None, form: _JobForm, *, status: int = 200, part: bool = False
) -> Response:
    values: dict[str, Any] = {
        "title": "Measure", "head": head, "step": "measure", "form": form, "words": _WORDS,
        "etag": request.form.get("etag") or (f'"{head.etag}"' if head else ""),
        "here": f"/jobs/{head.row.id}/measure" if head else "/jobs/new",
        "tax_rates": rate_choices(
            get_value(visit.session, visit.account_id, "price_book").body, otherwise="each line's own"
        ),
    }  # fmt: skip
    fragment = part and request.headers.get("X-Part") == "form"
    return visit.page("measure_form.html" if fragment else "measure.html", status=status, **values)
