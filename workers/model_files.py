"""What a worker does with a model that was sent: has it read in a process of its own, and keeps the proposal."""

from __future__ import annotations

import structlog

from api_schema.problem import Problem
from api_schema.shape import dump
from service.records import ledger, models
from service.records.store import Store
from workers.models import ModelError, read_model
from workers.refused import WorkRefused

log = structlog.get_logger(__name__)
SECONDS, MEGABYTES = 60, 1500


def read_sent_model(store: Store, claimed: ledger.Claim) -> None:
    """Reads a model into a proposed survey.

    Raises:
        WorkRefused: it cannot be read; the problem says why and what to do.
    """
    run, model_id = claimed.run, str(claimed.run.subject_id)
    with store.reading() as session:
        content = models.bytes_of(session, models.get_model(session, run.account_id, model_id))
    try:
        reading = read_model(content, seconds=SECONDS, megabytes=MEGABYTES)
    except ModelError as error:
        log.info("model not read", reason=error.reason, reader_said=error.reader_said)
        raise WorkRefused(_problem(error)) from error
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
        models.model_read(session, run.account_id, model_id, dump(reading))


def _problem(error: ModelError) -> Problem:
    if error.reason == "no_reader":
        return Problem(
            type="/problems/models_not_read_here",
            title="Models are not read here",
            status=501,
            code="models_not_read_here",
            detail=str(error),
        )
    return Problem(
        type="/problems/model_not_read",
        title="The model cannot be read",
        status=422,
        code="model_not_read",
        detail=str(error),
    )
