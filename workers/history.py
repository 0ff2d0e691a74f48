"""The outputs an account plans with: its settings, moved by the hours of its finished jobs."""

from __future__ import annotations

from api_schema.hours import Hours
from api_schema.labour import Labour
from api_schema.outputs import Outputs
from api_schema.shape import load
from service.records.history import finished_jobs
from service.records.store import Store
from workers.engine.learning import finished_job, learn


def learnt_outputs(store: Store, account_id: str, start: Outputs) -> Outputs:
    """`start` moved toward the account's own recorded hours; `start` itself where nothing was recorded.

    Every plan learns anew from the whole history, so that no job counts twice and a correction takes effect.
    """
    with store.reading() as session:
        history = finished_jobs(session, account_id)
    if not history:
        return start
    return learn(
        start,
        [
            finished_job(
                one.reference, load(Labour, one.labour), start, [load(Hours, hours) for hours in one.hours]
            )
            for one in history
        ],
    )
