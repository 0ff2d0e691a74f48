"""Quotes as they are found: by job and plan, what stands behind each, what was chosen; and how one moves on.

Made they are in `quote_drafts`, numbered and frozen in `quote_issuing`, answered in `quote_answers`.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from api_schema.quote import QuoteState
from api_schema.quote_alternatives import OfferedAlternative
from api_schema.shape import load
from service.records.accounts import get_account
from service.records.errors import NotFound, NotPossibleNow
from service.records.events import tell
from service.records.jobs import get_job
from service.records.own_values import get_snapshot
from service.records.runs import get_plan, latest_ready_run
from service.records.tables import Job, Quote, QuoteBasis, QuoteCombination, Run

_FURTHEST_BEHIND = datetime.timedelta(hours=12)


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


def previous_of(session: Session, account_id: str, quote: Quote) -> Quote | None:
    """The revision issued before this one; of a draft, the one issued last. None for the first."""
    query = select(Quote).where(
        Quote.account_id == account_id, Quote.job_id == quote.job_id, Quote.state != "draft"
    )
    if quote.state != "draft":
        query = query.where(Quote.revision < quote.revision)
    return session.scalar(query.order_by(Quote.revision.desc()).limit(1))


def basis_of(session: Session, account_id: str, quote_id: str) -> QuoteBasis | None:
    """What stands behind a quote; None for one of old times, which had no options."""
    return session.scalar(
        select(QuoteBasis).where(QuoteBasis.account_id == account_id, QuoteBasis.quote_id == quote_id)
    )


def firm_at_issue(session: Session, account_id: str, quote: Quote) -> dict[str, Any]:
    """The firm's profile (JSON) as its paper shows it: as it was when the quote was issued; the present one of a draft."""
    issued_with = session.scalar(
        select(Run)
        .where(
            Run.account_id == account_id,
            Run.kind == "render",
            Run.document_kind == "quote",
            Run.subject_id == quote.id,
        )
        .order_by(Run.created_at, Run.id)
        .limit(1)
    )
    if issued_with is None:
        return get_account(session, account_id).profile
    return get_snapshot(session, account_id, issued_with.snapshots["profile"])


@dataclass(frozen=True, slots=True)
class Behind:
    """What stands behind a quote as it was agreed, or as it is offered while nothing is: all JSON."""

    price: dict[str, Any]
    labour: dict[str, Any]
    order_lines: list[dict[str, Any]]
    breakdown: dict[str, Any] | None
    """None for a quote of old times, which had none."""


def behind(session: Session, account_id: str, quote: Quote) -> Behind | None:
    """What stands behind the choice the customer made, else behind the quote's own options; None until it is priced."""
    basis = basis_of(session, account_id, quote.id)
    chosen = chosen_of(quote, basis)
    price = agreed_price(quote.body, chosen)
    if price is None:
        return None
    if chosen:
        row = session.get_one(QuoteCombination, (quote.id, ",".join(chosen)))
        return Behind(price, row.labour, row.order_lines, row.breakdown)
    if basis is None or basis.labour is None or basis.order_lines is None:
        plan = get_plan(session, account_id, quote.run_id)
        return Behind(price, plan["labour"], plan["order_lines"], plan.get("breakdown"))
    return Behind(price, basis.labour, basis.order_lines, basis.breakdown)


def chosen_of(quote: Quote, basis: QuoteBasis | None) -> list[str] | None:
    """The alternatives the customer chose, by code in the order of the quote; None while it is not accepted."""
    if quote.state != "accepted":
        return None
    return [] if basis is None or basis.chosen is None else list(basis.chosen)


def alternatives_of(quote: Quote) -> tuple[OfferedAlternative, ...]:
    """The alternatives of a quote; none for one of old times."""
    return tuple(load(OfferedAlternative, one) for one in quote.body.get("alternatives", ()))


def agreed_price(body: Mapping[str, Any], chosen: Sequence[str] | None) -> dict[str, Any] | None:
    """The price of a quote's body with that choice; None until it is priced. The choice is one of the quote's."""
    if not chosen:
        found: dict[str, Any] | None = body["price"]
        return found
    return next(one["price"] for one in body["combinations"] if one["chosen"] == list(chosen))


def accepted_of(session: Session, account_id: str, run: Run) -> Quote | None:
    """The quote made from that plan which the customer accepted, the newest of several; None where none was."""
    return session.scalar(
        select(Quote)
        .where(Quote.account_id == account_id, Quote.run_id == run.id, Quote.state == "accepted")
        .order_by(Quote.revision.desc())
        .limit(1)
    )


def lines_to_order(session: Session, account_id: str, run: Run) -> list[dict[str, Any]]:
    """What is bought for a planned job, JSON of order lines: as the accepted quote of that plan says, else as planned."""
    quote = accepted_of(session, account_id, run)
    agreed = None if quote is None else behind(session, account_id, quote)
    if agreed is not None:
        return agreed.order_lines
    planned: list[dict[str, Any]] = get_plan(session, account_id, run.id)["order_lines"]
    return planned


def breakdown_of(session: Session, account_id: str, quote: Quote) -> dict[str, Any] | None:
    """The quote's price taken apart, as it was agreed: JSON of `Breakdown`; None until it is priced."""
    found = behind(session, account_id, quote)
    return None if found is None else found.breakdown


def locked(session: Session, account_id: str, quote_id: str) -> Quote:
    """The quote, with its job and itself locked against others until this transaction ends; always in this order."""
    quote = get_quote(session, account_id, quote_id)
    session.execute(select(Job.id).where(Job.id == quote.job_id).with_for_update())
    session.execute(select(Quote.id).where(Quote.id == quote_id).with_for_update())
    session.refresh(quote)
    return quote


def last_day_over(now: datetime.datetime) -> datetime.date:
    """The newest day that is over everywhere: a quote is open as long as its last day lasts for anybody, and days end
    last twelve hours behind UTC.
    """
    return (now - _FURTHEST_BEHIND).date() - datetime.timedelta(days=1)


def move(quote: Quote, state: QuoteState) -> None:
    """Moves it to a state, the one thing of its body that changes after it was issued."""
    body: dict[str, Any] = {**quote.body, "state": state}
    quote.state, quote.body, quote.version = state, body, quote.version + 1


def tell_of(session: Session, quote: Quote) -> None:
    """Tells the account's hooks that the quote is issued, accepted with what was chosen, or declined."""
    chosen = chosen_of(quote, basis_of(session, quote.account_id, quote.id))
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
            **({} if chosen is None else {"chosen": chosen}),
        },
    )
