"""What was agreed in an accepted quote beside its job as it stands, and the job changed to it and planned again.

Only the settings that were agreed are laid over the newest revision of the job: what was surveyed since is how the
building is. Quote, price and orders stay as they are, and stay with the plan they were priced from.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from api_schema.agreement import Agreement
from api_schema.as_agreed import SettingName
from api_schema.job import Job as JobRecord
from api_schema.job import followed
from api_schema.quote_alternatives import OfferedAlternative, overlaid
from api_schema.quote_options import QuoteOptions
from api_schema.shape import dump, load
from service.records.errors import NotPossibleNow
from service.records.jobs import get_job, job_body, revise_job
from service.records.own_values import get_snapshot
from service.records.quotes import alternatives_of, basis_of, behind, chosen_of, get_quote, locked
from service.records.runs import get_plan, get_run, latest_run, queue_plan
from service.records.tables import Job, Quote, Run

_COMPARED = {
    "building": "the building",
    "junctions": "where surfaces meet",
    "stapler": "the stapler",
    "tax": "the tax rate of the job",
    "target": "the airtightness asked for",
    "volume_m3": "the heated volume",
}
_MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting that the job has otherwise than agreed; of platforms, the name of what the customer chose."""

    name: SettingName
    now: str
    agreed: str


@dataclass(frozen=True, slots=True)
class Standing:
    """A job beside what was agreed in its accepted quote."""

    quote: Quote
    job: Job
    priced_revision: int
    """The revision of the job that the quote was priced from."""
    settings: tuple[Setting, ...]
    """What differs; none where the job follows the agreement."""
    changed_since: tuple[str, ...]
    """What else differs between that revision and the newest, in words."""
    agreed: JobRecord
    """The newest revision with what was agreed laid over it."""
    named: bool
    """Was the job planned as agreed in this quote?"""


def standing(session: Session, account_id: str, quote_id: str) -> Standing:
    """Where a job stands beside what was agreed.

    Raises:
        NotFound: no such quote, or its job was removed.
        NotPossibleNow: it is not accepted (`quote_not_accepted`); a later revision of it was (`quote_replaced`).
    """
    return _standing(session, get_quote(session, account_id, quote_id))


def plan_as_agreed(
    session: Session,
    account_id: str,
    quote_id: str,
    *,
    onto_revision: int | None = None,
    traceparent: str | None = None,
) -> tuple[Standing, Run | None]:
    """Makes a revision of the job with what was agreed and queues its plan; None where the job follows it already.

    It is planned to the standard of the plan that the quote was priced from, so that the strips fit what was ordered;
    where the job was changed since, to that of its newest plan. Prices, working speeds and stock are those of now, as
    in every plan.

    Raises:
        NotFound, NotPossibleNow: as `standing`; `job_changed_since`, where something else of the job was changed
            after the quote was priced, unless `onto_revision` names the newest revision of the job; or where it names
            another.
    """
    found = _standing(session, locked(session, account_id, quote_id))
    if not found.settings:
        return found, None
    now = found.job.revision
    if onto_revision is not None and onto_revision != now:
        raise NotPossibleNow(
            "job_changed_since",
            f"You named revision {onto_revision} of the job, which is now at revision {now}. Look at what differs, and send it again.",
        )
    if found.changed_since and onto_revision is None:
        raise NotPossibleNow(
            "job_changed_since",
            f"The quote was priced from revision {found.priced_revision} of the job, which is now at revision {now}. Changed "
            f"since, besides what was agreed: {'; '.join(found.changed_since)}. The price agreed on reckons with none of "
            f'this. To lay what was agreed over revision {now}, send it again with {{"onto_revision": {now}}}.',
        )
    standard = _standard_of(session, account_id, found)
    row = revise_job(session, account_id, found.job.id, dump(found.agreed), if_version=found.job.version)
    run = queue_plan(session, account_id, row.id, row.revision, traceparent=traceparent, standard=standard)
    return found, run


def needs_otherwise(session: Session, account_id: str, found: Standing) -> bool | None:
    """Does the plan as agreed need other material than was agreed, whatever is on hand? None before it is ready.

    The strips of a quote stay as planned; planned anew they may lie otherwise, as taping laps takes longer before
    insulation that is blown in, or because the settings of the account were changed.
    """
    run = latest_run(session, account_id, found.job.id, revision=found.job.revision)
    if found.settings or not found.named or run is None or run.state != "ready":
        return None
    agreed = behind(session, account_id, found.quote)
    if agreed is None:
        return None
    return _needed(agreed.order_lines) != _needed(get_plan(session, account_id, run.id)["order_lines"])


def _needed(lines: Sequence[dict[str, Any]]) -> dict[str, Decimal]:
    """By product, in the unit of its lines, waste included."""
    needed: dict[str, Decimal] = {}
    for line in lines:
        amount = Decimal(line["needed"]) + Decimal(line["waste"])
        needed[line["product"]] = needed.get(line["product"], Decimal(0)) + amount
    return needed


def plans_of_same_work(session: Session, account_id: str, run: Run) -> tuple[str, ...]:
    """The run of a plan, and that of the plan its agreement was priced from, where nothing else of the job changed.

    What was ordered or taken off stock for the one was so for the other.
    """
    body = job_body(session, account_id, str(run.job_id), run.revision)
    if not body.get("agreement"):
        return (run.id,)
    job: JobRecord = load(JobRecord, body)
    agreement = followed(job)
    if agreement is None:
        return (run.id,)
    priced_from = session.scalar(
        select(Quote.run_id).where(
            Quote.account_id == account_id, Quote.job_id == run.job_id, Quote.id == agreement.quote
        )
    )
    if priced_from is None or priced_from == run.id:
        return (run.id,)
    before = get_run(session, account_id, priced_from)
    if any(_changes(_job_at(session, account_id, str(run.job_id), before.revision), job)):
        return (run.id,)
    return (run.id, before.id)


def _standing(session: Session, quote: Quote) -> Standing:
    account_id = quote.account_id
    job = get_job(session, account_id, quote.job_id)
    session.refresh(job)  # it may have been read before it was locked
    if quote.state != "accepted":
        raise NotPossibleNow(
            "quote_not_accepted",
            f"The quote is {quote.state}; only what the customer accepted is agreed.",
        )
    later = session.scalar(
        select(Quote.revision)
        .where(
            Quote.account_id == account_id,
            Quote.job_id == quote.job_id,
            Quote.state == "accepted",
            Quote.revision > quote.revision,
        )
        .order_by(Quote.revision.desc())
        .limit(1)
    )
    if later is not None:
        raise NotPossibleNow(
            "quote_replaced",
            f"Revision {later} of the quote was accepted after it: what that says is agreed.",
        )
    priced = get_run(session, account_id, quote.run_id).revision
    newest = _job_at(session, account_id, job.id, job.revision)
    before = newest if priced == job.revision else _job_at(session, account_id, job.id, priced)
    chosen = chosen_of(quote, basis_of(session, account_id, quote.id)) or []
    taken = [one for one in alternatives_of(quote) if one.code in chosen]
    agreed = _agreed(newest, quote, taken)
    named = newest.agreement is not None and newest.agreement.quote == quote.id
    return Standing(
        quote,
        job,
        priced,
        tuple(_settings(newest, agreed, taken, named=named)),
        tuple(_changes(before, newest)),
        agreed,
        named,
    )


def _agreed(job: JobRecord, quote: Quote, taken: Sequence[OfferedAlternative]) -> JobRecord:
    """The job with what the quote says of insulation and collars; what it leaves open stays as the job says."""
    options = overlaid(load(QuoteOptions, quote.body["options"]), taken)
    insulation = job.insulation if options.fixing == "as_surveyed" else options.fixing
    collars = job.collars if options.collars == "as_planned" else options.collars
    agreement = Agreement(
        quote.id, quote.number, quote.revision, insulation, collars, tuple(one.name for one in taken)
    )
    return dataclasses.replace(job, insulation=insulation, collars=collars, agreement=agreement)


def _settings(
    job: JobRecord, agreed: JobRecord, taken: Sequence[OfferedAlternative], *, named: bool
) -> Iterator[Setting]:
    if job.insulation != agreed.insulation:
        yield Setting("insulation", job.insulation, agreed.insulation)
    if job.collars != agreed.collars:
        yield Setting("collars", job.collars, agreed.collars)
    if not named:
        for one in taken:  # who puts platforms up is nowhere in a job; the crew reads it from the cover
            if one.access_charge is not None:
                yield Setting("platforms", "", one.name)


def _changes(before: JobRecord, now: JobRecord) -> Iterator[str]:
    """What differs between two revisions besides insulation, collars and words, for people."""
    surfaces_before = {one.id: one for one in before.surfaces}
    surfaces_now = {one.id: one for one in now.surfaces}
    found = {
        "added": [name for name in surfaces_now if name not in surfaces_before],
        "taken away": [name for name in surfaces_before if name not in surfaces_now],
        "changed": [
            name
            for name, one in surfaces_now.items()
            if name in surfaces_before and surfaces_before[name] != one
        ],
    }
    for done, names in found.items():
        if names:
            more = len(names) - _MOST_NAMED
            told = ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
            yield f"{'surface' if len(names) == 1 else 'surfaces'} {told} {done}"
    if not any(found.values()) and before.surfaces != now.surfaces:
        yield "the order of the surfaces"
    for name, words in _COMPARED.items():
        if getattr(before, name) != getattr(now, name):
            yield words


def _standard_of(session: Session, account_id: str, found: Standing) -> dict[str, Any]:
    priced = get_run(session, account_id, found.quote.run_id)
    newest = latest_run(session, account_id, found.job.id) if found.changed_since else None
    return get_snapshot(session, account_id, (newest or priced).snapshots["standard"])


def _job_at(session: Session, account_id: str, job_id: str, revision: int) -> JobRecord:
    found: JobRecord = load(JobRecord, job_body(session, account_id, job_id, revision))
    return found
