"""Finishing a job: what it used up leaves the stock."""

from __future__ import annotations

from api_schema.finish import FinishWish, JobFinished
from api_schema.problem import Fault
from api_schema.shape import dump
from service.api.editing import storable
from service.api.noting import note
from service.api.offcuts import shown_offcut, shown_rolls
from service.api.operation import Answer, Asked, Resource
from service.api.problems import bad_input
from service.records import finishing as records
from service.records import hours
from service.records.own_values import get_value

finishing = Resource(
    "finish", "Finishing", "The end of a job: what it used up leaves the stock, and its ledger is complete."
)


@finishing.operation(
    "POST",
    "/v1/jobs/{job}/finish",
    "Finish a job",
    scope="write",
    takes=FinishWish,
    example={
        "used": [{"product": "tape-60", "packs": "2.5", "pack_size": "30"}],
        "hours": {"operations": [{"operation": "tape_lap", "hours": "2.5"}]},
    },
    optional=True,
    gives={201: JobFinished},
    may_answer=(404, 409, 412),
)
def finish_job(asked: Asked, job: str) -> Answer:
    """Takes what the job used up off stock, in one step and once: 409 the second time.

    Of a product named in `used` the amount said, as far as it is on hand; of the others as much as the plan draws
    from stock and the job's received orders brought, as planned with waste, or as agreed in the accepted quote of that
    plan. Membrane goes by whole rolls and its offcuts are kept, as in "Keep a job's offcuts", unless that was done
    before. The next plan counts on what is left. Hours sent with it are recorded. 409 while an order of the job is under way; receive it first.
    """
    account_id = asked.caller.account_id
    wish = asked.body or FinishWish()
    known = {
        product["code"] for product in get_value(asked.session, account_id, "price_book").body["products"]
    }
    faults = [
        Fault(
            f"/used/{place}/product",
            f'"{one.product}" is not in your price book; mend the code or add it there.',
        )
        for place, one in enumerate(wish.used)
        if one.product not in known
    ]
    if faults:
        raise bad_input(tuple(faults))
    packs = [dump(one) for one in wish.used]
    done = records.finish_job(asked.session, account_id, job, packs=packs, keep=wish.keep)
    if wish.hours is not None:
        hours.record_hours(asked.session, account_id, job, storable(wish.hours))
    note(asked, "job.finished", job)
    return Answer(
        {
            "job": job,
            "finished_at": done.finished_at.isoformat(),
            "used": done.body["used"],
            "rolls": shown_rolls(done.settled.rolls),
            "offcuts_used": [shown_offcut(row) for row in done.settled.used],
            "offcuts_kept": [shown_offcut(row) for row in done.settled.kept],
        },
        status=201,
    )
