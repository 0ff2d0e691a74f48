"""The plan of a job: how far it is, what came out, one surface at a time for the crew, and what a change would do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from flask import Response, request

from api_schema.price import PRICE_GROUPS
from service.api import documents, strict_json
from service.api import plans as operations
from service.api.operation import Answer
from service.api.problems import Refusal
from service.pages import comparing
from service.pages.as_agreed import agreed_work
from service.pages.cuts import parts_in, slanted_in, slanted_picture
from service.pages.html import anchor, money
from service.pages.jobs import Head, head_of
from service.pages.pictures import roll_picture, sides_of, surface_picture
from service.pages.serving import Pages, Visit, go
from service.pages.wording import GROUP_WORDS, MATERIALS
from service.records import documents as kept_documents
from service.records import drawings, own_values, runs, tables
from service.records.errors import NotFound


def add_plan(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/<job>/plan", plan_page)
    pages.add("/jobs/<job>/plan/state", plan_state)
    pages.add("/jobs/<job>/plan/again", plan_again, scope="write", methods=("POST",))
    pages.add("/jobs/<job>/plan/stop", stop, scope="write", methods=("POST",))
    pages.add("/jobs/<job>/plan/try", try_change, scope="write", methods=("POST",))
    pages.add("/jobs/<job>/plan/back", put_back, scope="write", methods=("POST",))
    pages.add("/jobs/<job>/surfaces/<surface>", surface_page)
    pages.add("/jobs/<job>/drawings/<surface>.svg", drawing)
    pages.add("/jobs/<job>/drawings/<surface>.pdf", drawing_pdf)
    pages.add("/jobs/<job>/drawings/<surface>.dxf", drawing_dxf)


def plan_page(visit: Visit, job: str) -> Response:
    """The plan of the job's present revision."""
    head = head_of(visit, job)
    if head.run is None or head.run.state != "ready":
        return visit.page("plan_waiting.html", title="Plan", head=head, step="plan", places=places_of(head))
    plan = runs.get_plan(visit.session, visit.account_id, head.run.id)
    surfaces = surfaces_of(visit, head.run, plan, head.body)
    standard = own_values.get_snapshot(visit.session, visit.account_id, head.run.snapshots["standard"])
    usual = own_values.get_value(visit.session, visit.account_id, "standard").body
    former = comparing.former_run(visit, head.run)
    groups = price_groups(plan["price"])
    return visit.page(
        "plan.html", title="Plan", head=head, step="plan", plan=plan, agreed=agreed_work(visit, head), surfaces=surfaces,
        layouts={layout["id"]: layout for layout in plan["layout"]["surfaces"]},
        areas={areas["id"]: areas for areas in plan["take_off"]["surfaces"]},
        picture=surface_picture, roll_picture=roll_picture, slanted=slanted_in(plan), parts=parts_in(plan),
        slanted_picture=slanted_picture, groups=groups, sums={group: _sum_of(lines, "amount") for group, lines in groups},
        group_names=GROUP_WORDS, places=places_of(head, surfaces), fixed=_sealing_counts(plan),
        isometric=_isometric(visit, head.run), standard=standard, differences=comparing.differences(usual, standard), tried=comparing.choices(head.body, standard),
        drawing_files=_drawing_files(visit, head.run), former=former, compared=comparing.compared(visit, former, plan) if former else (),
        names=names_in(visit, head.run, plan), rooms=_rooms(surfaces), quantities=_quantities(plan), operations=_operations(plan),
    )  # fmt: skip


def names_in(visit: Visit, run: tables.Run, plan: dict[str, Any]) -> dict[str, str]:
    """What products are called, also those the plan does not buy: others may bring the collars."""
    book = own_values.get_snapshot(visit.session, visit.account_id, run.snapshots["price_book"])
    named = {product["code"]: product["name"] for product in book["products"]}
    return named | {line["product"]: line["name"] for line in plan["order_lines"]}


def _rooms(surfaces: Sequence[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """The surfaces of each room, in the order they were measured."""
    rooms: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for surface in surfaces:
        rooms[surface["room"]].append(surface)
    return list(rooms.items())


def _quantities(plan: dict[str, Any]) -> tuple[tuple[str, list[dict[str, Any]]], ...]:
    """What is fixed, and what is counted or measured along it."""
    entries = plan["take_off"]["quantities"]
    return (
        ("To be fixed", [entry for entry in entries if entry["item"] in MATERIALS]),
        ("Counted and measured", [entry for entry in entries if entry["item"] not in MATERIALS]),
    )


def _operations(plan: dict[str, Any]) -> list[tuple[str, list[dict[str, Any]], Decimal, Decimal]]:
    """Every operation with its lines, their quantity and hours in all, in the order the work is done."""
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for line in plan["labour"]["operations"]:
        found[line["operation"]].append(line)
    return [
        (name, lines, _sum_of(lines, "quantity"), _sum_of(lines, "hours")) for name, lines in found.items()
    ]


def _sum_of(lines: Sequence[dict[str, Any]], name: str) -> Decimal:
    return sum((Decimal(line[name]) for line in lines), Decimal(0))


def _isometric(visit: Visit, run: tables.Run) -> str:
    """The drawing of the job's building; "" where it has none."""
    try:
        return runs.get_drawing(visit.session, visit.account_id, run.id, "_isometric").decode()
    except NotFound:
        return ""


def plan_state(visit: Visit, job: str) -> Response:
    """How far the plan is, for the script that watches it."""
    head = head_of(visit, job)
    state = {"state": head.state, "progress": head.run.progress if head.run else 0}
    return Response(strict_json.write(state), content_type="application/json")


def plan_again(visit: Visit, job: str) -> Response:
    """Plans with the values that hold now, whatever became of the plan before."""
    head = head_of(visit, job)
    _end(visit, head)
    runs.queue_plan(visit.session, visit.account_id, job, head.row.revision, traceparent=visit.traceparent)
    return go(f"/jobs/{job}/plan")


def stop(visit: Visit, job: str) -> Response:
    """Stops planning."""
    operations.cancel_plan(visit.asked(), job)
    return go(f"/jobs/{job}/plan", "stopped")


def try_change(visit: Visit, job: str) -> Response:
    """Plans once more with a changed setting, so that it can be seen beside the former plan."""
    head = head_of(visit, job)
    _end(visit, head)
    comparing.plan_changed(visit, head, request.form)
    return go(f"/jobs/{job}/plan#compare")


def put_back(visit: Visit, job: str) -> Response:
    """Plans as it was planned before the last change."""
    head = head_of(visit, job)
    former = runs.get_run(visit.session, visit.account_id, request.form.get("run", ""))
    if former.job_id != head.row.id:
        raise Refusal("not_found")
    _end(visit, head)
    comparing.plan_as(visit, head, former)
    return go(f"/jobs/{job}/plan")


def _end(visit: Visit, head: Head) -> None:
    """Two plans of one job at a time would be one too many."""
    if head.run is not None and head.run.state in ("queued", "running"):
        runs.cancel_run(visit.session, visit.account_id, head.run.id)


def surface_page(visit: Visit, job: str, surface: str) -> Response:
    """One surface for whoever stands before it: the drawing, its strips in laying order, what passes through."""
    head, run, plan = _ready(visit, job)
    surfaces = surfaces_of(visit, run, plan, head.body)
    place = next((number for number, one in enumerate(surfaces) if one["id"] == surface), None)
    if place is None:
        raise Refusal("not_found", "The plan has no surface of that name.")
    layout = plan["layout"]["surfaces"][place]
    return visit.page(
        "surface.html", title=surface, head=head, step="plan", surface=surfaces[place], layout=layout,
        reason=_with_currency(layout, plan["price"]["currency"], visit.language),
        before=surfaces[place - 1]["id"] if place else None,
        after=surfaces[place + 1]["id"] if place + 1 < len(surfaces) else None,
        place=place + 1, count=len(surfaces), names=names_in(visit, run, plan), sides=sides_of(surfaces[place]["outline_mm"]),
        drawn=runs.get_drawing(visit.session, visit.account_id, run.id, surface).decode(),
        sealings=[one for one in plan["take_off"]["penetrations"] if one["surface"] == surface],
        penetrations={one["id"]: one for one in surfaces[place]["penetrations"]},
        derived=bool(head.body.get("building")) and all(one["id"] != surface for one in head.body["surfaces"]),
        drawing_files=_drawing_files(visit, run), rolls=_rolls_of(plan), slanted=slanted_in(plan), parts=parts_in(plan),
        areas=next(one for one in plan["take_off"]["surfaces"] if one["id"] == surface),
        checks=[one for one in plan["checks"] if f"{one['pointer']}/".startswith(f"/surfaces/{place}/")],
        quantities=[
            (entry, part["quantity"])
            for entry in plan["take_off"]["quantities"]
            for part in entry["from"]
            if part["surface"] == surface
        ],
    )  # fmt: skip


def _with_currency(layout: dict[str, Any], currency: str, language: str) -> str:
    """Why it is laid so; what the other way costs more is said as money."""
    reason = str(layout["reason"])
    if layout["runner_up_cost"] is None:
        return reason
    more = Decimal(layout["runner_up_cost"]) - Decimal(layout["cost"])
    return reason.replace(f"costs {more} more", f"costs {money(more, currency, language)} more")


def drawing(visit: Visit, job: str, surface: str) -> Response:
    """The stored drawing, to be kept or printed."""
    _, run, _ = _ready(visit, job)
    svg = runs.get_drawing(visit.session, visit.account_id, run.id, surface)
    response = Response(svg, content_type="image/svg+xml")
    response.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"  # fmt: skip
    response.headers["Content-Disposition"] = f'inline; filename="{surface}.svg"'
    return response


def drawing_pdf(visit: Visit, job: str, surface: str) -> Response:
    """The drawing on a sheet of its own."""
    return _file(documents.read_drawing_pdf(visit.asked(), job, surface))


def drawing_dxf(visit: Visit, job: str, surface: str) -> Response:
    """The drawing for a designer's program."""
    return _file(documents.read_drawing_dxf(visit.asked(), job, surface))


def _file(answer: Answer) -> Response:
    return Response(answer.body, content_type=answer.media_type, headers=dict(answer.headers))


def _drawing_files(visit: Visit, run: tables.Run) -> tables.Document | None:
    """The ZIP of the drawings as they are now, where somebody asked for it."""
    subject = drawings.files_subject(visit.session, visit.account_id, run.id)
    return kept_documents.document_of(
        visit.session, visit.account_id, kind=drawings.FILES, subject_id=subject
    )


def _ready(visit: Visit, job: str) -> tuple[Head, tables.Run, dict[str, Any]]:
    """The job with its ready plan. Raises Refusal while there is none."""
    head = head_of(visit, job)
    if head.run is None or head.run.state != "ready":
        raise Refusal("plan_not_ready")
    return head, head.run, runs.get_plan(visit.session, visit.account_id, head.run.id)


def surfaces_of(
    visit: Visit, run: tables.Run, plan: dict[str, Any], body: dict[str, Any]
) -> list[dict[str, Any]]:
    """The surfaces a plan was made for, as JSON: those of its survey, which a building's are derived into."""
    try:
        survey = runs.get_part(visit.session, visit.account_id, run.id, "survey")
    except NotFound:  # a plan made before surveys were kept
        given = {surface["id"]: surface for surface in body["surfaces"]}
        return [
            given.get(layout["id"]) or {**_UNKNOWN, "id": layout["id"]}
            for layout in plan["layout"]["surfaces"]
        ]
    surfaces: list[dict[str, Any]] = survey["surfaces"]
    return surfaces


_UNKNOWN: dict[str, Any] = {"kind": "", "room": "", "outline_mm": [], "openings": [], "penetrations": []}


def places_of(head: Head, surfaces: Sequence[dict[str, Any]] = ()) -> Callable[[str], str]:
    """Where a pointer into the planned job leads: to the surface where a building gave it, else to the measurements."""
    job = head.row.id

    def place(pointer: str) -> str:
        steps = pointer.split("/")
        derived = bool(head.body.get("building")) and len(steps) > 2 and steps[1] == "surfaces"
        if derived and steps[2].isdigit() and int(steps[2]) < len(surfaces):
            return f"/jobs/{job}/surfaces/{surfaces[int(steps[2])]['id']}"
        return f"/jobs/{job}/measure?at={quote(pointer)}#{anchor(pointer)}"

    return place


def price_groups(price: dict[str, Any]) -> list[tuple[str, list[dict[str, Any]]]]:
    """The lines of a price by what kind they are."""
    lines: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for line in price["lines"]:
        lines[line["group"]].append(line)
    return [(group, lines[group]) for group in PRICE_GROUPS if lines[group]]


def _rolls_of(plan: dict[str, Any]) -> dict[str, int]:
    return {
        piece: roll["roll"]
        for roll in plan["cut_list"]["rolls"]
        for cut in roll["cuts"]
        for piece in cut["pieces"]
    }


def _sealing_counts(plan: dict[str, Any]) -> dict[str, int]:
    counts: dict[str, int] = defaultdict(int)
    for one in plan["take_off"]["penetrations"]:
        counts[one["method"]] += one["count"]
    return counts
