"""A job's plan: how far it is, what came out, stop it, try again, and the drawings made from it."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import Any

from api_schema.fields import whole
from api_schema.shape import dump
from api_schema.stored import StoredPlan
from service.api.editing import etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, Media, Resource
from service.api.problems import Refusal
from service.records import jobs, runs, tables
from service.records.tables import ENDED

RETRY_AFTER_S = 1

plans = Resource(
    "plans",
    "Plans",
    "Everything computed for a job: where the strips lie, what is cut from which roll, what was measured, hours, "
    "what to buy, and the price. A plan tells what to build; local codes and licensed trades come first.",
)


def is_final(run: tables.Run) -> bool:
    """Has it ended?"""
    return run.state in ENDED


def latest(asked: Asked, job: str, revision: int | None = None) -> tables.Run:
    """The newest plan of a job. Raises NotFound for the job, a 404 of its own where it was never planned."""
    jobs.get_job(asked.session, asked.caller.account_id, job)
    run = runs.latest_run(asked.session, asked.caller.account_id, job, revision=revision)
    if run is None:
        raise Refusal("not_planned")
    return run


def _answer(asked: Asked, run: tables.Run, *, status: int = 200) -> Answer:
    plan: dict[str, Any] = {}
    if run.state == "ready":
        plan = runs.get_plan(asked.session, asked.caller.account_id, run.id)
    headers = {} if is_final(run) else {"Retry-After": str(RETRY_AFTER_S)}
    if status == 202:
        headers["Location"] = address(f"/v1/jobs/{run.job_id}/plan")
    etag = etag_of("plan", run.id, run.state, run.progress, run.attempt)
    return Answer({**_standing(run), **plan}, status=status, etag=etag, headers=headers)


def _standing(run: tables.Run) -> dict[str, Any]:
    here = address(f"/v1/jobs/{run.job_id}")
    return dump(
        StoredPlan(
            job=run.job_id,
            revision=run.revision,
            status=run.state,  # type: ignore[arg-type]
            final=is_final(run),
            progress=Decimal(1) if run.state == "ready" else Decimal(run.progress) / 100,
            attempt=run.attempt,
            created_at=run.created_at,
            started_at=run.started_at,
            finished_at=run.finished_at,
            problem=None,
            links={
                "self": f"{here}/plan?revision={run.revision}",
                "job": here,
                "documents": f"{here}/documents",
            },
        )
    ) | {"problem": run.problem}


@plans.operation(
    "GET",
    "/v1/jobs/{job}/plan",
    "Read the plan",
    scope="read",
    gives={200: StoredPlan},
    query={
        "revision": whole(
            "The plan of this revision of the job; the newest where not said.", example=1, minimum=1
        )
    },
    may_answer=(404,),
    waits=True,
    etag=True,
)
def read_plan(asked: Asked, job: str) -> Answer:
    """Gives the newest plan and how far it is; `final` says whether it is worth asking again.

    While it is not final the answer carries `Retry-After`. With `Prefer: wait=N` the answer is held until the plan
    has ended, at most N (up to 30) seconds.
    """
    run = latest(asked, job, asked.query.get("revision"))
    answer = _answer(asked, run)
    if is_final(run):
        return answer
    return replace(answer, wait=partial(_once_ended, asked, run.id))


def _once_ended(asked: Asked, run_id: str, seconds: float) -> Answer:
    """The answer once the run has ended, or after `seconds`, outside the request's own transaction."""
    run = runs.wait_for_run(asked.store, asked.caller.account_id, run_id, seconds=seconds)
    with asked.store.reading() as session:
        return _answer(replace(asked, session=session), run)


@plans.operation(
    "POST",
    "/v1/jobs/{job}/plan/cancel",
    "Stop planning",
    scope="write",
    gives={200: StoredPlan},
    may_answer=(404, 409),
    etag=True,
)
def cancel_plan(asked: Asked, job: str) -> Answer:
    """Stops a plan that is queued or running; what was computed so far is thrown away. Twice changes nothing."""
    run = latest(asked, job)
    return _answer(asked, runs.cancel_run(asked.session, asked.caller.account_id, run.id))


@plans.operation(
    "POST",
    "/v1/jobs/{job}/plan/retry",
    "Plan again",
    scope="write",
    gives={200: StoredPlan, 202: StoredPlan},
    may_answer=(404, 409),
    waits=True,
    etag=True,
)
def retry_plan(asked: Asked, job: str) -> Answer:
    """Plans the job where its plan failed, was cancelled or was never asked for, with the values that hold now."""
    account_id = asked.caller.account_id
    row = jobs.get_job(asked.session, account_id, job)
    earlier = runs.latest_run(asked.session, account_id, job, revision=row.revision)
    if earlier is None:
        run = runs.queue_plan(asked.session, account_id, job, row.revision, traceparent=asked.traceparent)
    else:
        run = runs.retry_run(asked.session, account_id, earlier.id, traceparent=asked.traceparent)
    return replace(_answer(asked, run, status=202), wait=partial(_once_ended, asked, run.id))


@plans.operation(
    "GET",
    "/v1/jobs/{job}/drawings/{surface}.svg",
    "Draw a surface",
    scope="read",
    gives={200: Media("image/svg+xml", "The surface to scale, with strips, laps, pieces and penetrations.")},
    may_answer=(404, 409),
    etag=True,
)
def read_drawing(asked: Asked, job: str, surface: str) -> Answer:
    """Draws one surface of the newest plan to scale, as SVG: strips, laps, piece lengths, openings, members, penetrations.

    409 with `Retry-After` while the plan is on its way.
    """
    run = latest(asked, job)
    if not is_final(run):
        raise Refusal("plan_not_ready", headers={"Retry-After": str(RETRY_AFTER_S)})
    if run.state != "ready":
        raise Refusal("plan_not_ready", f"The plan is {run.state}. Plan the job again.")
    svg = runs.get_drawing(asked.session, asked.caller.account_id, run.id, surface)
    policy = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"
    return Answer(
        svg,
        media_type="image/svg+xml",
        etag=etag_of(
            "drawing", run.id, surface, hashlib.sha256(svg).hexdigest()
        ),  # leaks are drawn on it later
        headers={"Content-Security-Policy": policy},
    )
