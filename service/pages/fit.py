"""Fitting: the papers for the site, and the hours the crew wrote down beside the hours that were planned."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from flask import Response, request

from api_schema.hours import Hours
from api_schema.outputs import OPERATIONS
from api_schema.problem import Fault
from service.api import hours as operations
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages import wording
from service.pages.as_agreed import agreed_work
from service.pages.forms import Form, Tree, tree, typed
from service.pages.jobs import Head, head_of
from service.pages.papers import papers_of
from service.pages.serving import Pages, Visit, go
from service.records import drawings, runs
from service.records.finishing import finished
from service.records.offcuts import is_settled
from service.records.quotes import lines_to_order


def add_fit(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/<job>/fit", fit, scope="write", methods=("GET", "POST"))


def fit(visit: Visit, job: str) -> Response:
    """The page of the crew."""
    head = head_of(visit, job)
    if request.method == "GET":
        return show_fit(visit, head)
    form = tree({name: request.form[name].replace("\r\n", "\n") for name in request.form})
    rows = form.get("operations", [])
    sent = [place for place, row in enumerate(rows) if isinstance(row, dict) and row.get("hours", "").strip()]
    try:
        data = typed(Hours, {**form, "operations": [rows[place] for place in sent]})
        operations.record_hours(visit.asked(loaded(Hours, data)), job)
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return show_fit(visit, head, Form(form, tuple(_back(refusal.faults, sent))), status=422)
    return go(f"/jobs/{job}/fit", "recorded")


def _back(faults: Iterable[Fault], sent: list[int]) -> Iterable[Fault]:
    """Faults at the rows of the form again: rows left empty were not sent."""
    for fault in faults:
        steps = fault.pointer.split("/")
        if len(steps) > 2 and steps[1] == "operations":
            steps[2] = str(sent[int(steps[2])])
            yield Fault("/".join(steps), fault.detail)
        elif fault.pointer == "/operations":
            yield Fault("/operations", "has no hours in it; enter at least one operation's.")
        else:
            yield fault


def _planned(plan: Tree) -> dict[str, dict[str, Any]]:
    """Hours and quantity of each operation of the plan, in the order the work is done."""
    lines = plan["labour"]["operations"] if plan else ()
    found: dict[str, dict[str, Any]] = {}
    for operation in OPERATIONS:
        own = [line for line in lines if line["operation"] == operation]
        if own:
            found[operation] = {
                "quantity": sum((Decimal(line["quantity"]) for line in own), Decimal(0)),
                "unit": own[0]["unit"],
                "hours": sum((Decimal(line["hours"]) for line in own), Decimal(0)),
            }
    return found


def _plan(visit: Visit, head: Head) -> Tree:
    """The ready plan; {} where there is none."""
    if head.run is None or head.run.state != "ready":
        return {}
    return runs.get_plan(visit.session, visit.account_id, head.run.id)


def _recorded(head: Head) -> dict[str, Decimal]:
    sums: dict[str, Decimal] = {}
    for record in head.hours:
        for entry in record.body["operations"]:
            sums[entry["operation"]] = sums.get(entry["operation"], Decimal(0)) + Decimal(entry["hours"])
    return sums


def _on_wish(visit: Visit, head: Head) -> Iterable[tuple[str, str, str]]:
    """Kind, name and subject of what is made only when somebody wants it."""
    if head.run is not None:
        yield "trade_pack", "the pack for plumber and electrician", head.run.id
        yield "survey_report", "what was measured", head.run.id
        yield "cut_labels", "a label for every piece", head.run.id
        subject = drawings.files_subject(visit.session, visit.account_id, head.run.id)
        yield drawings.FILES, "every drawing as SVG, PDF and DXF", subject


def _bought(visit: Visit, head: Head) -> list[dict[str, Any]]:
    """The products of the plan, or of what was agreed in a quote of it, with how many packs were foreseen of each size."""
    if head.run is None or head.run.state != "ready":
        return []
    return [
        {"product": line["product"], "name": line["name"], "pack_size": line["pack_size"], "packs": line["packs"], "unit": line["unit"]}
        for line in lines_to_order(visit.session, visit.account_id, head.run)
    ]  # fmt: skip


def _named(form: Form | None, ending: Form | None, bought: Iterable[dict[str, Any]]) -> dict[str, str]:
    """What the rows of both forms stand for, by their pointers."""
    products = {line["product"]: line["name"] for line in bought}
    named = {
        f"/operations/{row}": wording.operation(form.value(f"/operations/{row}/operation"))
        for row in (form.rows("/operations") if form else ())
    }
    for row in ending.rows("/used") if ending else ():
        code = ending.value(f"/used/{row}/product") if ending else ""
        named[f"/used/{row}"] = products.get(code, code)
    return named


def show_fit(
    visit: Visit,
    head: Head,
    form: Form | None = None,
    *,
    ending: Form | None = None,
    kept: Sequence[int] | None = None,
    status: int = 200,
) -> Response:
    """The page, with what was typed into the form of hours or into that of the job's end where either was refused."""
    plan, bought = _plan(visit, head), _bought(visit, head)
    papers = papers_of(visit, head.row.id)
    values: Tree = {
        "papers": papers,
        "planned": _planned(plan),
        "recorded": _recorded(head),
        "form": form or Form({}),
    }
    pack = papers.of("site_pack", head.run.id) if head.run else None
    others = [
        (kind, words, papers.of(kind, subject), papers.is_coming(kind, subject))
        for kind, words, subject in _on_wish(visit, head)
    ]
    return visit.page(
        "fit.html", status=status, title="Fit", head=head, step="fit", agreed=agreed_work(visit, head), pack=pack, others=others, operations=OPERATIONS,
        names={line["product"]: line["name"] for line in plan["order_lines"]} if plan else {},
        left=plan["cut_list"]["kept"] if plan else [], named=_named(form, ending, bought),
        ending=ending or Form({}), kept=kept, bought=bought,
        finished=finished(visit.session, visit.account_id, head.row.id),
        settled=bool(plan and head.run and is_settled(visit.session, visit.account_id, head.run)),
        moving=bool(papers.coming), **values,
    )  # fmt: skip
