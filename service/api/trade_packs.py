"""The trade pack of a job, made when it is asked for."""

from __future__ import annotations

from api_schema.document import Document
from service.api.documents import shown
from service.api.links import address
from service.api.noting import note
from service.api.operation import Answer, Asked, Resource
from service.records import documents, runs
from service.records.quotes import ready_plan_of

trade_packs = Resource(
    "trade-packs",
    "Trade packs",
    "For plumber and electrician: everything of theirs that passes through the layer, the collar to slip on before "
    "its end is closed, and what each captive one costs instead.",
)


@trade_packs.operation(
    "POST",
    "/v1/jobs/{job}/trade-pack",
    "Make the trade pack",
    scope="write",
    gives={200: Document, 202: None},
    may_answer=(404, 409),
)
def make_trade_pack(asked: Asked, job: str) -> Answer:
    """Makes the trade pack of the ready plan of the job's present revision: 202 while it is rendered, then 200 with what is known of it.

    Asked again it is not made again. It stands among the job's documents too. 409 while the plan is not ready.
    """
    account_id = asked.caller.account_id
    _, run = ready_plan_of(asked.session, account_id, job)
    row = documents.document_of(asked.session, account_id, kind="trade_pack", subject_id=run.id)
    if row is not None:
        return Answer(shown(row))
    on_its_way = [
        one
        for one in runs.renders_of(asked.session, account_id, job)
        if one.document_kind == "trade_pack"
        and one.subject_id == run.id
        and one.state in ("queued", "running")
    ]
    if not on_its_way:
        runs.queue_render(asked.session, account_id, of=run, document_kind="trade_pack", subject_id=run.id)
        note(asked, "trade_pack.asked", run.id)
    return Answer(
        status=202,
        headers={"Location": address(f"/v1/jobs/{job}/documents?kind=trade_pack"), "Retry-After": "1"},
    )
