"""Why a run ended without a result, in words for who sent it."""

from __future__ import annotations

from api_schema.problem import Problem, SurveyFaults


def cannot_be_planned(faults: SurveyFaults) -> Problem:
    """The survey is at fault; what is to be corrected stands in `errors`."""
    count = len(faults.faults)
    return Problem(
        type="/problems/cannot_be_planned",
        title="The job cannot be planned as it was sent",
        status=422,
        code="cannot_be_planned",
        detail=f"{count} thing{'s' if count != 1 else ''} in it must be corrected.",
        errors=faults.faults,
    )


def too_large(memory_kib: int) -> Problem:
    """It took more memory than a run may, each time it was tried."""
    return Problem(
        type="/problems/run_too_large",
        title="The work takes too much memory",
        status=500,
        code="run_too_large",
        detail=(
            f"It was stopped each time at {memory_kib // 1000} MB, so that others' work goes on. Split the job into "
            "several with fewer surfaces each; if it is small already, tell us the run's id."
        ),
    )


def too_long(seconds: int) -> Problem:
    """It took longer than a run may, each time it was tried."""
    return Problem(
        type="/problems/run_too_long",
        title="The work takes too long",
        status=500,
        code="run_too_long",
        detail=(
            f"It was stopped each time after {seconds} second{'s' if seconds != 1 else ''}, so that others' work goes on. Split the job into "
            "several with fewer surfaces each; if it is small already, tell us the run's id."
        ),
    )


BROKE_OFF = Problem(
    type="/problems/run_broke_off",
    title="The work broke off",
    status=500,
    code="run_broke_off",
    detail="Something went wrong on our side, several times. Retry it; if it happens again, tell us the run's id.",
)
