"""The outputs as the next plan counts with them: what each started from and what finished jobs made of it."""

from __future__ import annotations

from decimal import Decimal

from api_schema.learnt import JobBehind, LearntOutput, LearntOutputs
from api_schema.outputs import Output, Outputs
from api_schema.shape import dump, load
from service.api.operation import Answer, Asked, Resource
from service.learning import FORMULA, SOURCE, FinishedJob, Learnt, history_of, learn, learnt_of
from service.records.own_values import get_value

learnt_outputs = Resource(
    "learnt-outputs", "Learnt outputs", "What your recorded hours made of your outputs."
)
_WRITTEN = Decimal("0.0001")
_HOURS = Decimal("0.001")


@learnt_outputs.operation(
    "GET",
    "/v1/outputs/learnt",
    "Read what the outputs learnt",
    scope="read",
    gives={200: LearntOutputs},
)
def read_learnt_outputs(asked: Asked) -> Answer:
    """Gives each output as it started, the finished jobs behind it, and the minutes the next plan counts with.

    Reckoned anew from the whole history of jobs with recorded hours, by the formula that stands in the answer.
    """
    account_id = asked.caller.account_id
    start = load(Outputs, get_value(asked.session, account_id, "outputs").body)
    history = history_of(asked.session, account_id, start)
    found = learnt_of(history)
    now = learn(start, history)
    return Answer(
        dump(
            LearntOutputs(
                outputs=tuple(
                    _shown(before, after, found.get(before.operation), history)
                    for before, after in zip(start.operations, now.operations, strict=True)
                ),
                jobs=len(history),
                formula=FORMULA,
                source=SOURCE,
            )
        )
    )


def _shown(start: Output, now: Output, learnt: Learnt | None, history: list[FinishedJob]) -> LearntOutput:
    return LearntOutput(
        operation=start.operation,
        start=start,
        now=now,
        jobs=tuple(
            JobBehind(job.job_id, job.reference, one.planned_h.quantize(_HOURS), one.recorded_h)
            for job in history
            for one in job.operations
            if one.operation == start.operation
        ),
        weight=Decimal(0) if learnt is None else learnt.weight.quantize(_WRITTEN),
        own_ratio=None if learnt is None else learnt.own_ratio.quantize(_WRITTEN),
        held_back=0 if learnt is None else learnt.held_back,
        factor=Decimal(1) if learnt is None else learnt.factor.quantize(_WRITTEN),
    )
