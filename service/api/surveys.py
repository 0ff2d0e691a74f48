"""The survey of a planned job, the drawing of its building, and documents made when somebody wants them."""

from __future__ import annotations

from sqlalchemy.orm import Session

from api_schema.job_survey import JobSurvey
from api_schema.tested import DocumentWish, WishedDocument
from service.api.documents import documents as documents_resource
from service.api.editing import etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, Media, Resource
from service.api.plans import RETRY_AFTER_S, is_final, latest
from service.api.problems import Refusal
from service.api.running import answer_of, standing
from service.records import documents, drawings, runs, tables
from service.records.errors import NotFound

surveys = Resource(
    "surveys",
    "Surveys",
    "The geometry a job is planned with: its own surfaces, or those derived from its building. A surface sent beside "
    "the building, under the id of a derived one, takes that one's place.",
)
_ISOMETRIC = "_isometric"


def ready_plan(asked: Asked, job: str) -> tables.Run:
    """The newest plan of a job, which must be ready: a 409 else."""
    run = latest(asked, job)
    if not is_final(run):
        raise Refusal("plan_not_ready", headers={"Retry-After": str(RETRY_AFTER_S)})
    if run.state != "ready":
        raise Refusal("plan_not_ready", f"The plan is {run.state}. Plan the job again.")
    return run


@surveys.operation(
    "GET",
    "/v1/jobs/{job}/survey",
    "Read the survey",
    scope="read",
    gives={200: JobSurvey},
    may_answer=(404, 409),
    etag=True,
)
def read_survey(asked: Asked, job: str) -> Answer:
    """Gives every surface and junction of the newest plan with areas, volume and, of a building, its closed shape.

    The job keeps its building. To change one surface, send the job again (PUT) with that surface beside the
    building, under the same id. 409 with `Retry-After` while the plan is on its way.
    """
    run = ready_plan(asked, job)
    try:
        part = runs.get_part(asked.session, asked.caller.account_id, run.id, "survey")
    except NotFound:
        raise Refusal(
            "plan_not_ready", "This plan was made before surveys were kept. Change the job to plan it anew."
        ) from None
    return Answer({**part, "job": job, "revision": run.revision}, etag=etag_of("survey", run.id))


@surveys.operation(
    "GET",
    "/v1/jobs/{job}/isometric.svg",
    "Draw the building",
    scope="read",
    gives={200: Media("image/svg+xml", "The lined surfaces from two sides, with their names.")},
    may_answer=(404, 409),
    etag=True,
)
def read_isometric(asked: Asked, job: str) -> Answer:
    """Draws the lined surfaces of the job's building isometrically, as SVG. 404 where the job has no building.

    409 with `Retry-After` while the plan is on its way.
    """
    run = ready_plan(asked, job)
    svg = runs.get_drawing(asked.session, asked.caller.account_id, run.id, _ISOMETRIC)
    policy = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"
    return Answer(
        svg,
        media_type="image/svg+xml",
        etag=etag_of("isometric", run.id),
        headers={"Content-Security-Policy": policy},
    )


@documents_resource.operation(
    "POST",
    "/v1/jobs/{job}/documents",
    "Ask for a document",
    scope="write",
    takes=DocumentWish,
    example={"kind": "walk_round"},
    gives={201: WishedDocument, 202: WishedDocument},
    may_answer=(404, 409),
    waits=True,
)
def ask_for_document(asked: Asked, job: str) -> Answer:
    """Renders a document of the newest plan that is made only when somebody wants it; twice gives the same one.

    `walk_round` is what to look at before the fan test, surface by surface, with boxes to tick. `survey_report`
    lists what was measured. `cut_labels` is a label a piece in the order of cutting, 24 to a sheet of A4.
    `drawing_files` is a ZIP of every surface as SVG, PDF and DXF; each is then served by itself as well, until a
    leak is noted and drawn: ask again for the newer drawings.
    """
    account_id, kind = asked.caller.account_id, asked.body.kind
    plan = ready_plan(asked, job)
    subject = (
        drawings.files_subject(asked.session, account_id, plan.id) if kind == drawings.FILES else plan.id
    )
    run = runs.render_of(asked.session, account_id, kind=kind, subject_id=subject)
    if run is None or run.state in ("failed", "cancelled"):
        run = runs.queue_render(asked.session, account_id, of=plan, document_kind=kind, subject_id=subject)

    def show(session: Session, run: tables.Run) -> Answer:
        paper = documents.document_of(session, account_id, kind=kind, subject_id=subject)
        links = {"documents": here} if paper is None else {"document": address(f"/v1/documents/{paper.id}")}
        return Answer(
            {
                "kind": kind,
                "of": plan.id,
                **standing(run),
                "problem": run.problem,
                "document": None if paper is None else paper.id,
                "links": links,
            }
        )

    here = address(f"/v1/jobs/{job}/documents")
    return answer_of(asked, run, show, made=here)
