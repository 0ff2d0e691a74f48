"""What a changed setting does to rolls, hours and price, beside the plan made before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from api_schema.job import Job
from api_schema.shape import dump
from api_schema.standard import Standard
from api_schema.survey import find_faults
from service.api.editing import loaded
from service.api.problems import bad_input
from service.pages.jobs import Head
from service.pages.serving import Visit
from service.records import jobs, own_values, runs, tables

LENGTHS = (
    "lap_mm",
    "handled_length_mm",
    "return_mm",
    "fixing_centres_in_place_mm",
    "fixing_centres_blown_in_mm",
)
TICKS = ("along_members_allowed", "slanted_cuts_allowed", "splices_allowed")
NAMES = {
    "lap_mm": "Lap", "handled_length_mm": "Longest piece handled", "return_mm": "Return round a corner",
    "fixing_centres_in_place_mm": "Staples apart, insulation in place",
    "fixing_centres_blown_in_mm": "Staples apart, insulation blown in",
    "along_members_allowed": "Strips along the members", "slanted_cuts_allowed": "Slanted pieces sharing a cut",
    "splices_allowed": "Spliced pieces",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One figure in both plans."""

    name: str
    unit: str
    before: Decimal
    now: Decimal

    @property
    def change(self) -> Decimal:
        """What the change does to it."""
        return self.now - self.before


def former_run(visit: Visit, run: tables.Run) -> tables.Run | None:
    """The ready plan made before this one, of whichever revision."""
    earlier = (
        one
        for one in runs.list_plan_runs(visit.session, visit.account_id, run.job_id)
        if one.state == "ready" and one.created_at < run.created_at
    )
    return next(earlier, None)


def compared(visit: Visit, former: tables.Run, plan: dict[str, Any]) -> list[Row]:
    """The figures of both plans, row by row."""
    before = _figures(runs.get_plan(visit.session, visit.account_id, former.id))
    now = _figures(plan)
    return [Row(name, unit, before[name, unit], now[name, unit]) for name, unit in now]


def _figures(plan: dict[str, Any]) -> dict[tuple[str, str], Decimal]:
    amounts = {entry["item"]: Decimal(entry["quantity"]) for entry in plan["take_off"]["quantities"]}
    strips = [strip for surface in plan["layout"]["surfaces"] for strip in surface["strips"]]
    return {
        ("Rolls opened", ""): Decimal(plan["cut_list"]["rolls_opened"]),
        ("Membrane bought", "m²"): Decimal(plan["take_off"]["totals"]["as_bought_m2"]),
        ("Strips", ""): Decimal(len(strips)),
        ("Pieces to cut", ""): Decimal(sum(len(strip["pieces"]) for strip in strips)),
        ("Laps", "m"): amounts.get("lap", Decimal(0)),
        ("Staples", ""): amounts.get("staples", Decimal(0)),
        ("Hours to expect", "h"): Decimal(plan["labour"]["likely_h"]),
        ("Price before tax", "money"): Decimal(plan["price"]["net"]),
        ("Price with tax", "money"): Decimal(plan["price"]["total"]),
    }


def differences(usual: Mapping[str, Any], used: Mapping[str, Any]) -> list[tuple[str, Any, Any]]:
    """In which values a plan's standard differs from the account's: name, used, usual."""
    usual, used = (
        {**dump(Standard()), **one} for one in (usual, used)
    )  # some were kept before a value was known
    return [
        (NAMES.get(name, name.removesuffix("_mm").replace("_", " ")), used[name], usual[name])
        for name in used
        if name != "provenance" and name in usual and used[name] != usual[name]
    ]


def choices(body: Mapping[str, Any], standard: Mapping[str, Any]) -> dict[str, Any]:
    """What stands in the form."""
    ways = {surface["run"] for surface in body["surfaces"]}
    standard = {**dump(Standard()), **standard}
    return {
        **{name: standard[name] for name in (*LENGTHS, *TICKS)},
        "stapler": body["stapler"],
        "insulation": body["insulation"],
        "run": ways.pop() if len(ways) == 1 else "",
    }


def plan_changed(visit: Visit, head: Head, form: Mapping[str, str]) -> None:
    """Plans the job with the form's settings: those of the job as its next revision, those of the standard for this plan alone."""
    usual = own_values.get_value(visit.session, visit.account_id, "standard").body
    lengths = {name: form[name] for name in LENGTHS if form.get(name, "").strip()}
    standard = {**usual, **lengths, **{name: name in form for name in TICKS}}
    tried = dump(loaded(Standard, standard))
    body = dict(head.body)
    body |= {name: form[name] for name in ("stapler", "insulation") if form.get(name)}
    if form.get("run"):
        body["surfaces"] = [{**surface, "run": form["run"]} for surface in body["surfaces"]]
    _plan(visit, head, body, None if tried == {**dump(Standard()), **usual} else tried)


def plan_as(visit: Visit, head: Head, former: tables.Run) -> None:
    """Plans the job as an earlier plan was made: its revision's words and its standard."""
    body = jobs.job_body(visit.session, visit.account_id, head.row.id, former.revision)
    standard = own_values.get_snapshot(visit.session, visit.account_id, former.snapshots["standard"])
    _plan(visit, head, body, standard)


def _plan(visit: Visit, head: Head, body: dict[str, Any], standard: dict[str, Any] | None) -> None:
    job = loaded(Job, body)
    faults = find_faults(job)
    if faults:
        raise bad_input(faults)
    revision = head.row.revision
    kept = dump(job)
    if kept != head.body:
        row = jobs.revise_job(visit.session, visit.account_id, head.row.id, kept, if_version=head.row.version)
        revision = row.revision
    runs.queue_plan(
        visit.session,
        visit.account_id,
        head.row.id,
        revision,
        standard=standard,
        traceparent=visit.traceparent,
    )
