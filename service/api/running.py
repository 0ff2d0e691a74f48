"""Answers to things that a run works on: how far it is, and held until it has ended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from sqlalchemy.orm import Session

from service.api.operation import Answer, Asked
from service.api.plans import RETRY_AFTER_S
from service.records import runs, tables
from service.records.tables import ENDED


def standing(run: tables.Run) -> dict[str, Any]:
    """`status` and `final` of a run."""
    return {"status": run.state, "final": run.state in ENDED}


def answer_of(
    asked: Asked,
    run: tables.Run,
    show: Callable[[Session, tables.Run], Answer],
    *,
    made: str | None = None,
) -> Answer:
    """What `show` gives of the run as it stands, and under `Prefer: wait` once it has ended.

    Args:
        asked: the request.
        run: the run that works on the thing.
        show: the thing's answer, read in the session it is given.
        made: the new thing's address, where this answers its POST: 202 until the run has ended, then 201.
    """
    answer = _standing_answer(asked.session, run, show, made)
    if run.state in ENDED:
        return answer
    return replace(answer, wait=partial(_once_ended, asked, run.id, show, made))


def _once_ended(
    asked: Asked,
    run_id: str,
    show: Callable[[Session, tables.Run], Answer],
    made: str | None,
    seconds: float,
) -> Answer:
    run = runs.wait_for_run(asked.store, asked.caller.account_id, run_id, seconds=seconds)
    with asked.store.reading() as session:
        return _standing_answer(session, run, show, made)


def _standing_answer(
    session: Session, run: tables.Run, show: Callable[[Session, tables.Run], Answer], made: str | None
) -> Answer:
    answer = show(session, run)
    headers = dict(answer.headers)
    if run.state not in ENDED:
        headers["Retry-After"] = str(RETRY_AFTER_S)
    if made is None:
        return replace(answer, headers=headers)
    status = 201 if run.state in ENDED else 202
    return replace(answer, status=status, headers={**headers, "Location": made})
