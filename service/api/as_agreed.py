"""What the customer accepted, carried to the job: the crew's papers follow the job, and the job what was agreed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from api_schema.as_agreed import AgreedSetting, AsAgreed, AsAgreedWish
from api_schema.shape import dump
from service.api.links import address, links_of_job
from service.api.noting import note
from service.api.operation import Answer, Asked, Resource
from service.api.plans import RETRY_AFTER_S, is_final
from service.records import agreements as records
from service.records import runs, tables

as_agreed = Resource(
    "as-agreed",
    "Work as agreed",
    "Orders, finishing and ledger follow an accepted quote by themselves; the crew's papers follow the job. Here the "
    "job is changed to what was agreed, and planned again.",
)
WORDS = {
    ("insulation", "in_place"): "insulation in place",
    ("insulation", "blown_in"): "insulation blown in later",
    ("collars", "by_us"): "collars brought and fitted by us",
    ("collars", "by_others"): "collars brought and fitted by the other trades",
}
"""Settings in words."""


@as_agreed.operation(
    "GET",
    "/v1/quotes/{quote}/as-agreed",
    "Compare the job with what was agreed",
    scope="read",
    gives={200: AsAgreed},
    may_answer=(404, 409),
)
def read_as_agreed(asked: Asked, quote: str) -> Answer:
    """Says whether the newest revision of the job has what the customer accepted, and what differs. Changes nothing.

    409 while the quote is not accepted.
    """
    return _answer(asked, records.standing(asked.session, asked.caller.account_id, quote))


@as_agreed.operation(
    "POST",
    "/v1/quotes/{quote}/as-agreed",
    "Plan the job as agreed",
    scope="write",
    takes=AsAgreedWish,
    example={},
    optional=True,
    gives={200: AsAgreed, 202: AsAgreed},
    may_answer=(404, 409),
    waits=True,
)
def plan_as_agreed(asked: Asked, quote: str) -> Answer:
    """Makes a new revision of the job with the settings of the accepted quote, and plans it, with its site pack.

    Laid over the newest revision are insulation and collars as agreed, and `agreement`, which names the quote and
    what was chosen on the crew's papers. The quote, its price and its orders stay as they are, bound to the plan they
    were priced from; orders made for that plan count for this one, so nothing is ordered twice. Where the job has
    what was agreed already, nothing is done and `said` says so: asking twice does nothing the second time.

    Where something else of the job was changed after the quote was priced, the answer is a 409 that says from which
    revision it was priced and what differs; send `onto_revision` with the newest revision to go on all the same.
    Planned to the standard of the plan the quote was priced from, with prices, working speeds and stock of now.
    Where those are the same too, the new plan costs what the choice was priced at, but for the options of the quote
    that are the price's alone (platforms, hours priced, discount, tax), and but for strips that lie otherwise because
    taping laps takes longer before insulation that is blown in.
    """
    wish: AsAgreedWish = asked.body or AsAgreedWish()
    account_id = asked.caller.account_id
    found, run = records.plan_as_agreed(
        asked.session, account_id, quote, onto_revision=wish.onto_revision, traceparent=asked.traceparent
    )
    if run is None:
        return _answer(asked, found)
    note(
        asked,
        "job.changed_as_agreed",
        found.job.id,
        detail=f"quote {found.quote.number}, revision {found.quote.revision}",
    )
    answer = _answer(asked, found, run)
    return replace(answer, wait=partial(_once_planned, asked, found, run.id))


def _once_planned(asked: Asked, found: records.Standing, run_id: str, seconds: float) -> Answer:
    run = runs.wait_for_run(asked.store, asked.caller.account_id, run_id, seconds=seconds)
    return _answer(asked, found, run)


def _answer(asked: Asked, found: records.Standing, run: tables.Run | None = None) -> Answer:
    """`run` is the plan that this request asked for."""
    revision = found.job.revision if run is None else run.revision
    newest = run or runs.latest_run(
        asked.session, asked.caller.account_id, found.job.id, revision=found.job.revision
    )
    settings = tuple(AgreedSetting(one.name, one.now, one.agreed) for one in found.settings)
    body = AsAgreed(
        quote=found.quote.id,
        job=found.job.id,
        follows=run is not None or not settings,
        changed=run is not None,
        said=_said(found, settings, None if run is None else revision),
        settings=settings,
        priced_revision=found.priced_revision,
        revision=revision,
        changed_since=found.changed_since,
        needs_otherwise=None
        if run is not None
        else records.needs_otherwise(asked.session, asked.caller.account_id, found),
        status="not_planned" if newest is None else newest.state,  # type: ignore[arg-type]
        links={**links_of_job(found.job.id), "quote": address(f"/v1/quotes/{found.quote.id}")},
    )
    coming = run is not None and not is_final(run)
    headers = {"Location": body.links["plan"]} if run is not None else {}
    if coming:
        headers["Retry-After"] = str(RETRY_AFTER_S)
    return Answer(dump(body), status=202 if coming else 200, headers=headers)


def _said(found: records.Standing, settings: Sequence[AgreedSetting], made: int | None) -> str:
    quote = f"quote {found.quote.number}, revision {found.quote.revision}"
    if made is not None:
        return f"Revision {made} of the job has what was agreed in {quote}: {_words(settings)}. It is planned again."
    if not settings:
        return f"The job has what was agreed in {quote}; there is nothing to change."
    return f"Agreed in {quote}, but not in revision {found.job.revision} of the job: {_words(settings)}."


def _words(settings: Sequence[AgreedSetting]) -> str:
    return in_words([dump(one) for one in settings])


def in_words(settings: Sequence[Mapping[str, Any]]) -> str:
    """What was agreed, in words; `settings` is JSON of `AgreedSetting`."""
    return ", ".join(WORDS.get((one["setting"], one["agreed"]), f"“{one['agreed']}”") for one in settings)
