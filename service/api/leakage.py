"""Before the test: targets to choose from and the leakage budget of a plan; with the fan running: leaks found."""

from __future__ import annotations

from typing import Any

from api_schema.fields import identifier
from api_schema.leakage import TargetPreset
from api_schema.leakage_defaults import target_presets
from api_schema.pressure_test import LeakNote
from api_schema.shape import dump
from api_schema.tested import JobLeakage, StoredLeak
from service.api.editing import check_match, etag_of, storable
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import whole_list
from service.api.problems import Refusal
from service.api.surveys import ready_plan
from service.records import leaks as records
from service.records import runs, tables
from service.records.errors import NotFound

leakage = Resource(
    "leakage",
    "Leakage",
    "What may leak, and where: the budget of a target over a job's details before the test, and the leaks found "
    "while the fan runs.",
)
LEAK: dict[str, Any] = {
    "surface": "living-north",
    "detail": "p1",
    "what": "air at the tape end under the pipe",
    "found_by": "smoke",
    "strength": "clear",
}


@leakage.operation("GET", "/v1/targets", "List targets", scope="read", gives={200: ListOf(TargetPreset)})
def list_targets(_: Asked) -> Answer:
    """Lists targets that rules and programmes ask for, each with where the figure comes from.

    They are there to choose from, not the law: check the edition in force where you build.
    """
    return whole_list(target_presets(), dump)


@leakage.operation(
    "GET",
    "/v1/jobs/{job}/leakage-budget",
    "Read the leakage budget",
    scope="read",
    gives={200: JobLeakage},
    query={
        "target": identifier(
            "The name of one of the targets; the job's own where not said.", example="passive-house"
        )
    },
    may_answer=(404, 409),
    etag=True,
)
def read_leakage_budget(asked: Asked, job: str) -> Answer:
    """Gives what the target allows at 50 Pa, what each kind of detail may take of it, the ten places that matter most,
    and what one forgotten pipe costs.

    It was computed with the plan, with the component values and the factor from your fan tests as they were then;
    plan the job again for today's. 409 with `Retry-After` while the plan is on its way.
    """
    preset = asked.query.get("target")
    run = ready_plan(asked, job)
    try:
        part = runs.get_part(asked.session, asked.caller.account_id, run.id, "leakage")
    except NotFound:
        raise Refusal(
            "plan_not_ready", "This plan was made before budgets were. Change the job to plan it anew."
        ) from None
    if preset is not None and preset not in part["presets"]:
        known = ", ".join(each.name for each in target_presets())
        raise Refusal("bad_parameter", f'"target" must be one of: {known}.')
    body = {
        "job": job,
        "revision": run.revision,
        "preset": preset,
        "budget": part["own"] if preset is None else part["presets"][preset],
    }
    return Answer(body, etag=etag_of("leakage", run.id, preset))


def _shown(row: tables.Leak) -> dict[str, Any]:
    return {
        **row.body,
        "id": row.id,
        "job": row.job_id,
        "test": row.test_id,
        "created_at": row.created_at.isoformat(),
    }


def _etag(row: tables.Leak) -> str:
    return etag_of("leak", row.id, row.version)


@leakage.operation(
    "POST",
    "/v1/jobs/{job}/leaks",
    "Note a leak",
    scope="write",
    takes=LeakNote,
    example=LEAK,
    gives={201: StoredLeak},
    may_answer=(404, 409),
    etag=True,
)
def note_leak(asked: Asked, job: str) -> Answer:
    """Stores a leak found while the fan ran; the drawing of its surface shows it, numbered, soon after.

    It is drawn at `at_mm`, or else at the opening or penetration that `detail` names.
    """
    (row,) = records.note_leaks(asked.session, asked.caller.account_id, job, [storable(asked.body)])
    return Answer(_shown(row), status=201, etag=_etag(row))


@leakage.operation(
    "GET",
    "/v1/jobs/{job}/leaks",
    "List the leaks",
    scope="read",
    gives={200: ListOf(StoredLeak)},
    may_answer=(404,),
)
def list_leaks(asked: Asked, job: str) -> Answer:
    """Lists the leaks of a job, those of its fan tests too, oldest first: numbered from 1 as on the drawings."""
    return whole_list(records.list_leaks(asked.session, asked.caller.account_id, job), _shown)


@leakage.operation(
    "GET",
    "/v1/jobs/{job}/leaks/{leak}",
    "Read a leak",
    scope="read",
    gives={200: StoredLeak},
    may_answer=(404,),
    etag=True,
)
def read_leak(asked: Asked, job: str, leak: str) -> Answer:
    """Gives one leak."""
    row = records.get_leak(asked.session, asked.caller.account_id, job, leak)
    return Answer(_shown(row), etag=_etag(row))


@leakage.operation(
    "PUT",
    "/v1/jobs/{job}/leaks/{leak}",
    "Change a leak",
    scope="write",
    takes=LeakNote,
    example={**LEAK, "sealed": True},
    gives={200: StoredLeak},
    may_answer=(404,),
    edits=True,
    etag=True,
)
def change_leak(asked: Asked, job: str, leak: str) -> Answer:
    """Stores the leak as it now is, sealed for instance; the drawing of its surface follows."""
    account_id = asked.caller.account_id
    row = records.get_leak(asked.session, account_id, job, leak)
    check_match(asked.if_match, _etag(row))
    row = records.change_leak(
        asked.session, account_id, job, leak, storable(asked.body), if_version=row.version
    )
    return Answer(_shown(row), etag=_etag(row))
