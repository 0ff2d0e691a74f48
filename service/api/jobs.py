"""Jobs: sent, read, changed, listed, removed."""

from __future__ import annotations

import dataclasses
from typing import Any

from api_schema.agreement import Agreement, faults_of_claim
from api_schema.fields import text
from api_schema.job import Job
from api_schema.shape import dump, load
from api_schema.stored import JobEdit, JobSummary, StoredJob
from api_schema.survey import find_faults, normalised
from service.api.editing import check_match, etag_of
from service.api.examples import JOB
from service.api.links import links_of_job
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import PAGE_PARAMETERS, page_of
from service.api.plans import RETRY_AFTER_S, is_final
from service.api.problems import bad_input
from service.records import jobs as records
from service.records import runs, tables

jobs = Resource(
    "jobs",
    "Jobs",
    "One piece of work for one customer at one site: surfaces, junctions, openings and penetrations. A changed job "
    "gets a new revision and a new plan; old plans stay.",
)


def _summary(row: tables.Job, run: tables.Run | None) -> dict[str, Any]:
    return dump(
        JobSummary(
            id=row.id,
            reference=row.reference,
            title=row.title,
            revision=row.revision,
            status="not_planned" if run is None else run.state,  # type: ignore[arg-type]
            created_at=row.created_at,
            updated_at=row.updated_at,
            links=links_of_job(row.id),
        )
    )


def _etag(row: tables.Job) -> str:
    return etag_of("job", row.id, row.version)


def _refuse_claim(job: Job, kept: dict[str, Any] | None = None) -> None:
    faults = faults_of_claim(job.agreement, load(Agreement, kept) if kept else None)
    if faults:
        raise bad_input(faults)


def _accepted(asked: Asked, row: tables.Job, *, plan: bool, done: int) -> Answer:
    """The answer to a stored job: at once where nothing is to be planned, 202 where a plan is on its way."""
    account_id, store = asked.caller.account_id, asked.store
    if not plan:
        return Answer(
            _summary(row, None),
            status=done,
            etag=_etag(row),
            headers={"Location": links_of_job(row.id)["self"]},
        )
    run = runs.queue_plan(asked.session, account_id, row.id, row.revision, traceparent=asked.traceparent)

    def wait(seconds: float) -> Answer:
        return answer(runs.wait_for_run(store, account_id, run.id, seconds=seconds))

    def answer(run: tables.Run) -> Answer:
        headers = {"Location": links_of_job(row.id)["plan"]}
        if not is_final(run):
            headers["Retry-After"] = str(RETRY_AFTER_S)
        status = done if is_final(run) else 202
        return Answer(_summary(row, run), status=status, etag=_etag(row), headers=headers, wait=wait)

    return answer(run)


@jobs.operation(
    "POST",
    "/v1/jobs",
    "Send a job",
    scope="write",
    takes=Job,
    example=JOB,
    faults=find_faults,
    gives={201: JobSummary, 202: JobSummary},
    waits=True,
    etag=True,
)
def send_job(asked: Asked) -> Answer:
    """Stores a job and plans it, unless `plan` is false.

    Every fault of the survey is named at once, each with a pointer to its place. The answer comes before the plan is
    made: 202, with `Location` leading to the plan. With `Prefer: wait=N` it is held until the plan has ended, at most
    N (up to 30) seconds, and is then 201. Lengths are whole millimetres or words such as "2.4 m" and "8 ft 2 in".
    """
    job: Job = normalised(asked.body)
    _refuse_claim(job)
    account_id = asked.caller.account_id
    row = records.create_job(asked.session, account_id, dump(job))
    note(asked, "job.made", row.id)
    return _accepted(asked, row, plan=job.plan, done=201)


@jobs.operation(
    "GET",
    "/v1/jobs",
    "List the jobs",
    scope="read",
    gives={200: ListOf(JobSummary)},
    query={
        **PAGE_PARAMETERS,
        "reference": text(
            "Only jobs with this reference of yours.", example="PX-014", shortest=1, longest=64
        ),
    },
)
def list_jobs(asked: Asked) -> Answer:
    """Lists your jobs, newest first, with how far their plans are."""
    account_id = asked.caller.account_id
    return page_of(
        asked.query,
        lambda limit, after: records.list_jobs(
            asked.session, account_id, limit=limit, after=after, reference=asked.query.get("reference")
        ),
        lambda row: _summary(row, runs.latest_run(asked.session, account_id, row.id, revision=row.revision)),
    )


@jobs.operation(
    "GET", "/v1/jobs/{job}", "Read a job", scope="read", gives={200: StoredJob}, may_answer=(404,), etag=True
)
def read_job(asked: Asked, job: str) -> Answer:
    """Gives the job as it stands, lengths in whole millimetres, outlines counter-clockwise."""
    account_id = asked.caller.account_id
    row = records.get_job(asked.session, account_id, job)
    body = {
        **records.job_body(asked.session, account_id, job, row.revision),
        "id": row.id,
        "revision": row.revision,
        "created_at": row.created_at.isoformat(),
        "updated_at": row.updated_at.isoformat(),
        "links": links_of_job(row.id),
    }
    return Answer(body, etag=_etag(row))


@jobs.operation(
    "PUT",
    "/v1/jobs/{job}",
    "Change a job",
    scope="write",
    takes=JobEdit,
    example=JOB,
    faults=find_faults,
    gives={200: JobSummary, 202: JobSummary},
    may_answer=(404,),
    edits=True,
    waits=True,
    etag=True,
)
def change_job(asked: Asked, job: str) -> Answer:
    """Stores the job's next revision and plans it, unless `plan` is false. Plans of earlier revisions stay.

    Send what you read, changed; `id`, `revision`, dates and `links` may be left in and are not looked at.
    """
    account_id = asked.caller.account_id
    row = records.get_job(asked.session, account_id, job)
    check_match(asked.if_match, _etag(row))
    edited = normalised(_without_reading(asked.body))
    _refuse_claim(edited, records.job_body(asked.session, account_id, job, row.revision).get("agreement"))
    row = records.revise_job(asked.session, account_id, job, dump(edited), if_version=row.version)
    note(asked, "job.changed", job)
    return _accepted(asked, row, plan=edited.plan, done=200)


@jobs.operation(
    "DELETE",
    "/v1/jobs/{job}",
    "Remove a job",
    scope="write",
    gives={204: None},
    may_answer=(404,),
    edits=True,
)
def remove_job(asked: Asked, job: str) -> Answer:
    """Removes a job from the list, with its plan. Quotes and orders issued from it stay, with their documents.

    A quote of it that is still open cannot be answered any more, and its link opens nothing.
    """
    account_id = asked.caller.account_id
    row = records.get_job(asked.session, account_id, job)
    check_match(asked.if_match, _etag(row))
    records.delete_job(asked.session, account_id, job, if_version=row.version)
    note(asked, "job.removed", job)
    return Answer(status=204)


def _without_reading(edit: JobEdit) -> Job:
    return Job(**{member.name: getattr(edit, member.name) for member in dataclasses.fields(Job)})
