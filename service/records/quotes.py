"""Quotes: numbered without gaps, revisioned, dated, frozen once issued."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from api_schema import quote as shape
from api_schema.account import Profile
from api_schema.job import Job as JobRecord
from api_schema.price import Price
from api_schema.shape import dump, load
from service.records.accounts import get_account
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.ids import new_id
from service.records.jobs import get_job, job_body
from service.records.numbers import next_number
from service.records.runs import get_plan, latest_ready_run, queue_render
from service.records.store import now_of
from service.records.tables import Job, Quote, Run


def ready_plan_of(session: Session, account_id: str, job_id: str) -> tuple[Job, Run]:
    """The job, locked against others until this transaction ends, and the ready plan of its present revision.

    Raises:
        NotFound: no such job.
        NotPossibleNow: its present revision is not planned yet (`plan_not_ready`).
    """
    session.execute(select(Job.id).where(Job.account_id == account_id, Job.id == job_id).with_for_update())
    job = get_job(session, account_id, job_id)
    run = latest_ready_run(session, account_id, job_id)
    if run is None or run.revision != job.revision:
        raise NotPossibleNow(
            "plan_not_ready",
            f"Revision {job.revision} of this job has no ready plan. Wait for it, or plan it.",
        )
    return job, run


def issue_quote(session: Session, account_id: str, job_id: str) -> Quote:
    """Issues a quote from the ready plan of the job's present revision, and queues its document.

    A job's first quote takes the next number of the year; each later one is a further revision under the same
    number, and an issued one it replaces becomes `superseded`.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`.
    """
    job, run = ready_plan_of(session, account_id, job_id)
    now = now_of(session)
    today = now.date()
    earlier = session.scalars(
        select(Quote).where(Quote.account_id == account_id, Quote.job_id == job_id).order_by(Quote.revision)
    ).all()
    number = earlier[-1].number if earlier else _number(session, account_id, today)
    revision = earlier[-1].revision + 1 if earlier else 1
    for replaced in earlier:
        if replaced.state == "issued":
            _move(replaced, "superseded")
    profile = load(Profile, get_account(session, account_id).profile)
    asked = load(JobRecord, job_body(session, account_id, job_id, run.revision))
    valid_until = today + datetime.timedelta(days=profile.quote_valid_days)
    record = shape.Quote(
        number=number,
        revision=revision,
        state="issued",
        issued_on=today,
        valid_until=valid_until,
        reference=asked.reference,
        title=asked.title,
        customer=asked.customer,
        price=load(Price, get_plan(session, account_id, run.id)["price"]),
        terms=profile.terms,
    )
    quote = Quote(
        id=new_id("quo"),
        account_id=account_id,
        job_id=job.id,
        run_id=run.id,
        number=number,
        revision=revision,
        state="issued",
        body=dump(record),
        issued_on=today,
        valid_until=valid_until,
        version=1,
        created_at=now,
    )
    session.add(quote)
    session.flush()
    queue_render(session, account_id, of=run, document_kind="quote", subject_id=quote.id)
    return quote


def get_quote(session: Session, account_id: str, quote_id: str) -> Quote:
    """The quote. Raises NotFound."""
    quote = session.scalar(select(Quote).where(Quote.account_id == account_id, Quote.id == quote_id))
    if quote is None:
        raise NotFound("quote")
    return quote


def list_quotes(session: Session, account_id: str, job_id: str) -> list[Quote]:
    """Every quote of a job, newest revision first. Raises NotFound for the job."""
    get_job(session, account_id, job_id)
    return list(
        session.scalars(
            select(Quote)
            .where(Quote.account_id == account_id, Quote.job_id == job_id)
            .order_by(Quote.revision.desc())
        )
    )


def answer_quote(
    session: Session,
    account_id: str,
    quote_id: str,
    state: shape.QuoteState,
    *,
    if_version: int | None = None,
) -> Quote:
    """Accepts or declines an issued quote; saying the same twice changes nothing.

    Raises:
        NotFound: no such quote.
        Stale: its version is no longer `if_version`.
        NotPossibleNow: it is not open for an answer (`quote_not_open`), or its last day has passed (`quote_expired`).
    """
    session.execute(
        select(Quote.id).where(Quote.account_id == account_id, Quote.id == quote_id).with_for_update()
    )
    quote = get_quote(session, account_id, quote_id)
    if quote.state == state:
        return quote
    if if_version is not None and quote.version != if_version:
        raise Stale("quote")
    if quote.state != "issued":
        raise NotPossibleNow("quote_not_open", f"The quote is {quote.state}; only an issued one is answered.")
    if quote.valid_until is not None and now_of(session).date() > quote.valid_until:
        raise NotPossibleNow(
            "quote_expired", f"The quote was valid until {quote.valid_until}. Issue a new revision."
        )
    _move(quote, state)
    session.flush()
    return quote


def expire_quotes(session: Session) -> int:
    """Marks issued quotes whose last day has passed, of every account; gives how many."""
    today = now_of(session).date()
    past = session.scalars(
        select(Quote).where(Quote.state == "issued", Quote.valid_until < today).limit(500)
    ).all()
    for quote in past:
        session.execute(
            update(Quote)
            .where(Quote.id == quote.id, Quote.version == quote.version, Quote.state == "issued")
            .values(state="expired", body={**quote.body, "state": "expired"}, version=Quote.version + 1)
            .execution_options(synchronize_session=False)
        )
    return len(past)


def _number(session: Session, account_id: str, today: datetime.date) -> str:
    return f"{today.year}-{next_number(session, account_id, 'quote', today.year):04d}"


def _move(quote: Quote, state: shape.QuoteState) -> None:
    body: dict[str, Any] = {**quote.body, "state": state}
    quote.state, quote.body, quote.version = state, body, quote.version + 1
