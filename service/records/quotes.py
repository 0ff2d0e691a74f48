"""Quotes: numbered without gaps, revisioned, dated, frozen once issued."""

from __future__ import annotations

import datetime
from contextlib import suppress
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from api_schema import quote as shape
from api_schema.account import Profile
from api_schema.job import Job as JobRecord
from api_schema.quote_options import QuoteOptions, QuoteWish
from api_schema.shape import dump, load
from service.records.accounts import get_account
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.events import tell
from service.records.ids import new_id
from service.records.jobs import get_job, job_body
from service.records.numbers import next_number
from service.records.runs import cancel_run, get_plan, get_run, latest_ready_run, queue_pricing, queue_render
from service.records.store import now_of
from service.records.tables import Job, Quote, QuoteBasis, Run


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
    """Issues a quote at the plan's price; see `make_quote`."""
    return make_quote(session, account_id, job_id, QuoteWish())


def make_quote(session: Session, account_id: str, job_id: str, wish: QuoteWish) -> Quote:
    """Makes a quote from the ready plan of the job's present revision.

    Without options it has the plan's price and is issued at once (or stays a draft, where wished). With options a
    worker prices it first (`priced`); until then it is a draft without a price.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`.
    """
    job, run = ready_plan_of(session, account_id, job_id)
    now = now_of(session)
    profile = load(Profile, get_account(session, account_id).profile)
    asked = load(JobRecord, job_body(session, account_id, job_id, run.revision))
    planned = wish.options == QuoteOptions()
    quote_id = new_id("quo")
    body = {
        "number": "",
        "revision": _next_revision(session, account_id, job_id),
        "state": "draft",
        "issued_on": None,
        "valid_until": None,
        "reference": asked.reference,
        "title": asked.title,
        "customer": dump(asked.customer),
        "price": get_plan(session, account_id, run.id)["price"] if planned else None,
        "terms": profile.terms if wish.terms is None else wish.terms,
        "options": dump(wish.options),
        "introduction": wish.introduction,
    }
    quote = Quote(
        id=quote_id,
        account_id=account_id,
        job_id=job.id,
        run_id=run.id,
        number=quote_id,
        revision=body["revision"],
        state="draft",
        body=body,
        issued_on=None,
        valid_until=None,
        version=1 if wish.draft or not planned else 0,  # issuing it is its first version
        created_at=now,
    )
    session.add(quote)
    session.flush()
    basis = QuoteBasis(quote_id=quote_id, account_id=account_id, wish=dump(wish))
    if not planned:
        basis.pricing_run_id = queue_pricing(session, account_id, of=run, quote_id=quote_id).id
    session.add(basis)
    session.flush()
    if planned and not wish.draft:
        _issue(session, quote, run)
    return quote


def issue_draft(session: Session, account_id: str, quote_id: str) -> Quote:
    """Issues a draft as it stands: numbers and dates it, and freezes it. An issued one is left as it is.

    Raises:
        NotFound: no such quote, or its job was deleted.
        NotPossibleNow: it has been answered or replaced (`quote_not_open`), it has no price yet
            (`quote_not_priced`), or the job has changed since (`quote_outdated`).
    """
    quote = _locked(session, account_id, quote_id)
    if quote.state == "issued":
        return quote
    if quote.state != "draft":
        raise NotPossibleNow("quote_not_open", f"The quote is {quote.state}; only a draft is issued.")
    if quote.body["price"] is None:
        raise NotPossibleNow("quote_not_priced", "The quote has no price yet. Wait for it, or make another.")
    _issue(session, quote, _run_of_present_revision(session, quote))
    return quote


def delete_draft(session: Session, account_id: str, quote_id: str) -> None:
    """Removes a draft, which has no number yet, and gives up its pricing.

    Raises:
        NotFound: no such quote.
        NotPossibleNow: it was issued (`quote_frozen`).
    """
    quote = _locked(session, account_id, quote_id)
    if quote.state != "draft":
        raise NotPossibleNow(
            "quote_frozen",
            f"The quote is {quote.state} under number {quote.number}; what was issued is kept. A further revision takes its place.",
        )
    basis = basis_of(session, account_id, quote_id)
    if basis is not None:
        if basis.pricing_run_id is not None:
            with suppress(NotPossibleNow):  # it is priced already
                cancel_run(session, account_id, basis.pricing_run_id)
        session.delete(basis)
        session.flush()
    session.delete(quote)
    session.flush()


def priced(
    session: Session,
    account_id: str,
    quote_id: str,
    *,
    price: dict[str, Any],
    labour: dict[str, Any],
    order_lines: list[dict[str, Any]],
    breakdown: dict[str, Any],
) -> Quote:
    """Gives a draft the price a worker found, and issues it where that was wished and the job is still the same.

    A quote that has a price already is left as it is.
    """
    quote = _locked(session, account_id, quote_id)
    basis = basis_of(session, account_id, quote_id)
    if quote.body["price"] is not None or basis is None:
        return quote
    quote.body, quote.version = {**quote.body, "price": price}, quote.version + 1
    basis.labour, basis.order_lines, basis.breakdown = labour, order_lines, breakdown
    session.flush()
    if not basis.wish["draft"]:
        try:
            run = _run_of_present_revision(session, quote)
        except (NotFound, NotPossibleNow):  # changed or removed meanwhile: it stays a draft
            return quote
        _issue(session, quote, run)
    return quote


def basis_of(session: Session, account_id: str, quote_id: str) -> QuoteBasis | None:
    """What stands behind a quote; None for one of old times, which had no options."""
    return session.scalar(
        select(QuoteBasis).where(QuoteBasis.account_id == account_id, QuoteBasis.quote_id == quote_id)
    )


def breakdown_of(session: Session, account_id: str, quote: Quote) -> dict[str, Any] | None:
    """The quote's price taken apart: JSON of `api_schema.breakdown.Breakdown`; None until it is priced."""
    if quote.body["price"] is None:
        return None
    basis = basis_of(session, account_id, quote.id)
    if basis is not None and basis.breakdown is not None:
        return basis.breakdown
    found: dict[str, Any] | None = get_plan(session, account_id, quote.run_id).get("breakdown")
    return found


def previous_of(session: Session, account_id: str, quote: Quote) -> Quote | None:
    """The revision issued before this one; of a draft, the one issued last. None for the first."""
    query = select(Quote).where(
        Quote.account_id == account_id, Quote.job_id == quote.job_id, Quote.state != "draft"
    )
    if quote.state != "draft":
        query = query.where(Quote.revision < quote.revision)
    return session.scalar(query.order_by(Quote.revision.desc()).limit(1))


def _locked(session: Session, account_id: str, quote_id: str) -> Quote:
    """The quote, with its job and itself locked against others until this transaction ends; always in this order."""
    quote = get_quote(session, account_id, quote_id)
    session.execute(select(Job.id).where(Job.id == quote.job_id).with_for_update())
    session.execute(select(Quote.id).where(Quote.id == quote_id).with_for_update())
    session.refresh(quote)
    return quote


def _run_of_present_revision(session: Session, quote: Quote) -> Run:
    job = get_job(session, quote.account_id, quote.job_id)
    run = get_run(session, quote.account_id, quote.run_id)
    if run.revision != job.revision:
        raise NotPossibleNow(
            "quote_outdated",
            f"The draft is for revision {run.revision} of the job, which is now at {job.revision}. Make a new one.",
        )
    return run


def _issue(session: Session, quote: Quote, run: Run) -> None:
    """Numbers, dates and freezes a draft, whose job is locked, and queues its document."""
    account_id = quote.account_id
    today = now_of(session).date()
    profile = load(Profile, get_account(session, account_id).profile)
    basis = basis_of(session, account_id, quote.id)
    days = (basis.wish["valid_days"] if basis is not None else None) or profile.quote_valid_days
    earlier = _issued_ones(session, account_id, quote.job_id)
    for replaced in earlier:
        if replaced.state == "issued":
            _move(replaced, "superseded")
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
    _move(quote, "issued")
    session.flush()
    queue_render(session, account_id, of=run, document_kind="quote", subject_id=quote.id)
    _tell(session, quote)


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


def _next_revision(session: Session, account_id: str, job_id: str) -> int:
    issued = _issued_ones(session, account_id, job_id)
    return issued[-1].revision + 1 if issued else 1


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
            .order_by(Quote.revision.desc(), Quote.created_at.desc(), Quote.id)
        )
    )


def answer_quote(
    session: Session,
    account_id: str,
    quote_id: str,
    state: shape.QuoteState,
    *,
    if_version: int | None = None,
    by: str | None = None,
) -> Quote:
    """Accepts or declines an issued quote; saying the same twice changes nothing. `by` is who said so, in words.

    Raises:
        NotFound: no such quote.
        Stale: its version is no longer `if_version`.
        NotPossibleNow: it is not open for an answer (`quote_not_open`), or its last day has passed (`quote_expired`).
    """
    quote = _locked(session, account_id, quote_id)
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
    basis = basis_of(session, account_id, quote_id)
    if basis is not None:
        basis.answered_by, basis.answered_at = by, now_of(session)
    session.flush()
    _tell(session, quote)
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


def _tell(session: Session, quote: Quote) -> None:
    """Tells the account's hooks that the quote is issued, accepted or declined."""
    tell(
        session,
        quote.account_id,
        f"quote.{quote.state}",
        subject=f"/v1/quotes/{quote.id}",
        data={
            "quote": quote.id,
            "job": quote.job_id,
            "number": quote.number,
            "revision": quote.revision,
            "status": quote.state,
        },
    )
