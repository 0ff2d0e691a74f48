"""A draft becomes an offer: it gets its number without gaps and its dates, takes the place of the one before, and is frozen."""

from __future__ import annotations

import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from api_schema.account import Profile
from api_schema.shape import load
from service.records.accounts import get_account
from service.records.errors import NotPossibleNow
from service.records.jobs import get_job
from service.records.numbers import next_number
from service.records.quotes import basis_of, locked, move, tell_of
from service.records.runs import get_run, queue_render
from service.records.store import now_of
from service.records.tables import Quote, Run


def issue_draft(session: Session, account_id: str, quote_id: str) -> Quote:
    """Issues a draft as it stands: numbers and dates it, and freezes it. An issued one is left as it is.

    Raises:
        NotFound: no such quote, or its job was deleted.
        NotPossibleNow: it has been answered or replaced (`quote_not_open`), it has no price yet
            (`quote_not_priced`), or the job has changed since (`quote_outdated`).
    """
    quote = locked(session, account_id, quote_id)
    if quote.state == "issued":
        return quote
    if quote.state != "draft":
        raise NotPossibleNow("quote_not_open", f"The quote is {quote.state}; only a draft is issued.")
    if quote.body["price"] is None:
        raise NotPossibleNow("quote_not_priced", "The quote has no price yet. Wait for it, or make another.")
    issue(session, quote, run_of_present_revision(session, quote))
    return quote


def run_of_present_revision(session: Session, quote: Quote) -> Run:
    """The run of a draft. Raises `quote_outdated` where the job has changed since, NotFound where it was removed."""
    job = get_job(session, quote.account_id, quote.job_id)
    run = get_run(session, quote.account_id, quote.run_id)
    if run.revision != job.revision:
        raise NotPossibleNow(
            "quote_outdated",
            f"The draft is for revision {run.revision} of the job, which is now at {job.revision}. Make a new one.",
        )
    return run


def issue(session: Session, quote: Quote, run: Run) -> None:
    """Numbers, dates and freezes a draft, whose job is locked, and queues its document."""
    account_id = quote.account_id
    today = now_of(session).date()
    profile = load(Profile, get_account(session, account_id).profile)
    basis = basis_of(session, account_id, quote.id)
    days = (basis.wish["valid_days"] if basis is not None else None) or profile.quote_valid_days
    earlier = _issued_ones(session, account_id, quote.job_id)
    for replaced in earlier:
        if replaced.state == "issued":
            move(replaced, "superseded")
    quote.number = earlier[-1].number if earlier else _number(session, account_id, today)
    quote.revision = earlier[-1].revision + 1 if earlier else 1
    quote.issued_on, quote.valid_until = today, today + datetime.timedelta(days=days)
    quote.body = {
        **quote.body,
        "number": quote.number,
        "revision": quote.revision,
        "issued_on": quote.issued_on.isoformat(),
        "valid_until": quote.valid_until.isoformat(),
    }
    move(quote, "issued")
    session.flush()
    queue_render(session, account_id, of=run, document_kind="quote", subject_id=quote.id)
    tell_of(session, quote)


def next_revision(session: Session, account_id: str, job_id: str) -> int:
    """The revision that the next quote of a job gets when it is issued."""
    issued = _issued_ones(session, account_id, job_id)
    return issued[-1].revision + 1 if issued else 1


def _issued_ones(session: Session, account_id: str, job_id: str) -> list[Quote]:
    """Every quote of a job that was ever issued, by revision; held against others who answer them."""
    return list(
        session.scalars(
            select(Quote)
            .where(Quote.account_id == account_id, Quote.job_id == job_id, Quote.state != "draft")
            .order_by(Quote.revision)
            .with_for_update()
            .execution_options(populate_existing=True)
        )
    )


def _number(session: Session, account_id: str, today: datetime.date) -> str:
    return f"{today.year}-{next_number(session, account_id, 'quote', today.year):04d}"
