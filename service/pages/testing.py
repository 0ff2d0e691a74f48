"""Testing: what to watch before the fan runs, the readings, what they mean, and the leaks found."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.pressure_test import LeakNote, PressureTestInput, faults_in_test
from api_schema.problem import Fault
from api_schema.tested import DocumentWish
from service.api.editing import loaded
from service.api.problems import Refusal, bad_input
from service.pages.forms import Form, Tree, tree, typed
from service.pages.jobs import Head, head_of
from service.pages.operations import ask
from service.pages.papers import papers_of
from service.pages.plots import test_plot
from service.pages.serving import Pages, Visit, go
from service.records import leaks, pressure_tests, runs
from service.records.errors import NotFound

_MOST_TESTS = 50
_ROWS = 10
WAYS = (
    ("depressurisation", "Depressurisation: the fan blows out"),
    ("pressurisation", "Pressurisation: the fan blows in"),
)
CHECK_WORDS = {"met": "met", "watch": "look again", "not_met": "not met", "not_checked": "not checked"}


def add_testing(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/<job>/test", test_page, scope="write", methods=("GET", "POST"))
    pages.add("/jobs/<job>/leaks", note_leak, scope="write", methods=("POST",))
    pages.add("/jobs/<job>/leaks/<leak>/sealed", seal, scope="write", methods=("POST",))
    pages.add("/jobs/<job>/wish", wish, scope="write", methods=("POST",))


def test_page(visit: Visit, job: str) -> Response:
    """The tests of a job, and the form for the readings of the next."""
    head = head_of(visit, job)
    if request.method == "GET":
        return _shown(visit, head, Form(_start(head)))
    form = tree({name: request.form[name].replace("\r\n", "\n") for name in request.form})
    data, kept = _readings_of(form)
    try:
        test = loaded(PressureTestInput, {**data, "job": job})
        if faults := faults_in_test(test):
            raise bad_input(faults)
        ask(visit, "send_pressure_test", body=test)
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _shown(visit, head, Form(form, _back(refusal.faults, kept)), status=422)
    return go(f"/jobs/{job}/test", "tested")


def _start(head: Head) -> Tree:
    return {
        "reference": f"{head.row.reference}-test"[:64],
        "method": "iso_9972",
        "preparation": "building_envelope",
    }


def _readings_of(form: Tree) -> tuple[dict[str, Any], list[tuple[int, list[int]]]]:
    """The test's JSON without directions and rows left empty, and which places of the form those kept have."""
    kept: list[tuple[int, list[int]]] = []
    directions = []
    for place, way in enumerate(form.get("directions", [])):
        rows = [row for row in way.get("readings", []) if isinstance(row, dict)]
        places = [number for number, row in enumerate(rows) if any(words.strip() for words in row.values())]
        if not places and not way.get("zero_flow_before_pa", "").strip():
            continue
        kept.append((place, places))
        means = {name: _several(way.get(name, "")) for name in ("zero_flow_before_pa", "zero_flow_after_pa")}
        directions.append({**way, **means, "readings": [rows[number] for number in places]})
    return typed(PressureTestInput, {**form, "directions": directions}), kept


def _several(words: str) -> list[str]:
    """One mean or several readings, apart by spaces or semicolons."""
    return words.replace(";", " ").split()


def _back(faults: Any, kept: list[tuple[int, list[int]]]) -> list[Fault]:
    """Faults at the places of the form again."""
    found = []
    for fault in faults:
        steps = fault.pointer.split("/")
        if len(steps) > 2 and steps[1] == "directions" and steps[2].isdigit() and int(steps[2]) < len(kept):
            place, rows = kept[int(steps[2])]
            steps[2] = str(place)
            if len(steps) > 4 and steps[3] == "readings" and int(steps[4]) < len(rows):
                steps[4] = str(rows[int(steps[4])])
            elif len(steps) > 4:
                steps = steps[:4]
        found.append(Fault("/".join(steps), fault.detail))
    return found


def note_leak(visit: Visit, job: str) -> Response:
    """A leak found while the fan ran."""
    words = {name: request.form[name].replace("\r\n", "\n") for name in request.form}
    form = tree(words)
    try:
        ask(visit, "note_leak", job, body=loaded(LeakNote, typed(LeakNote, form)))
    except Refusal as refusal:
        if not refusal.faults:
            raise
        faults = [Fault(f"/leak{fault.pointer}", fault.detail) for fault in refusal.faults]
        head = head_of(visit, job)
        return _shown(visit, head, Form({**_start(head), "leak": form}, faults), status=422)
    return go(f"/jobs/{job}/test", "noted")


def seal(visit: Visit, job: str, leak: str) -> Response:
    """Notes that a leak was sealed, or that it leaks again."""
    row = leaks.get_leak(visit.session, visit.account_id, job, leak)
    answer = ask(visit, "read_leak", job, leak)
    changed = loaded(LeakNote, {**row.body, "sealed": not row.body["sealed"]})
    ask(visit, "change_leak", job, leak, body=changed, if_match=f'"{answer.etag}"')
    return go(f"/jobs/{job}/test#leaks")


def wish(visit: Visit, job: str) -> Response:
    """Asks for a document that is made only when somebody wants it."""
    kind = request.form.get("kind", "")
    if kind == "trade_pack":
        ask(visit, "make_trade_pack", job)
    else:
        ask(visit, "ask_for_document", job, body=loaded(DocumentWish, {"kind": kind}))
    return go(f"/jobs/{job}/{'test' if kind == 'walk_round' else 'fit'}", "wished")


def _shown(visit: Visit, head: Head, form: Form, *, status: int = 200) -> Response:
    job = head.row.id
    papers = papers_of(visit, job)
    tests = [
        {
            "row": row,
            "run": runs.get_run(visit.session, visit.account_id, row.run_id),
            "paper": papers.of("test_report", row.id),
            "coming": papers.is_coming("test_report", row.id),
            "plot": test_plot(row.result) if row.result else None,
        }
        for row in pressure_tests.list_tests(visit.session, visit.account_id, limit=_MOST_TESTS, job_id=job)
    ]
    run = head.run if head.state == "ready" else None
    found = leaks.list_leaks(visit.session, visit.account_id, job)
    return visit.page(
        "test.html", status=status, title="Test", head=head, step="test", form=form, tests=tests, leaks=found, ways=WAYS,
        rows=_ROWS, check_words=CHECK_WORDS, budget=_part(visit, run, "leakage"), survey=_part(visit, run, "survey"),
        walk_round=papers.of("walk_round", run.id) if run else None,
        walk_round_coming=bool(run) and papers.is_coming("walk_round", run.id),
        moving=bool(papers.coming) or any(one["run"].state in ("queued", "running") for one in tests),
    )  # fmt: skip


def _part(visit: Visit, run: Any, name: str) -> dict[str, Any] | None:
    if run is None:
        return None
    try:
        return runs.get_part(visit.session, visit.account_id, run.id, name)
    except NotFound:
        return None
