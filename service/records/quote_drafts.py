"""Quotes as they are made: from a ready plan, at its price or with options and alternatives that a worker prices first."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete
from sqlalchemy.orm import Session

from api_schema.account import Profile
from api_schema.job import Job as JobRecord
from api_schema.quote_alternatives import offered
from api_schema.quote_options import QuoteOptions
from api_schema.quote_wish import QuoteWish
from api_schema.shape import dump, load
from service.records.accounts import get_account
from service.records.errors import NotFound, NotPossibleNow
from service.records.ids import new_id
from service.records.jobs import job_body
from service.records.quote_issuing import issue, next_revision, run_of_present_revision
from service.records.quotes import basis_of, locked, ready_plan_of
from service.records.runs import cancel_run, get_plan, queue_pricing
from service.records.store import now_of
from service.records.tables import Quote, QuoteBasis, QuoteCombination

_AS_PLANNED = QuoteWish()


def make_quote(session: Session, account_id: str, job_id: str, wish: QuoteWish = _AS_PLANNED) -> Quote:
    """Makes a quote from the ready plan of the job's present revision.

    Without options it has the plan's price and is issued at once (or stays a draft, where wished). With options or
    alternatives a worker prices it first (`priced`); until then it is a draft without a price.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`.
    """
    job, run = ready_plan_of(session, account_id, job_id)
    now = now_of(session)
    profile = load(Profile, get_account(session, account_id).profile)
    asked = load(JobRecord, job_body(session, account_id, job_id, run.revision))
    options = as_meant(wish.options, asked)
    planned = options == as_meant(QuoteOptions(), asked) and not wish.alternatives
    quote_id = new_id("quo")
    body = {
        "number": "",
        "revision": next_revision(session, account_id, job_id),
        "state": "draft",
        "issued_on": None,
        "valid_until": None,
        "reference": asked.reference,
        "title": asked.title,
        "customer": dump(asked.customer),
        "price": get_plan(session, account_id, run.id)["price"] if planned else None,
        "terms": profile.terms if wish.terms is None else wish.terms,
        "options": dump(options),
        "introduction": wish.introduction,
        "alternatives": [dump(one) for one in offered(wish.alternatives)],
        "combinations": [],
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
        issue(session, quote, run)
    return quote


def as_meant(options: QuoteOptions, job: JobRecord) -> QuoteOptions:
    """Options that say who brings the collars, so that a quote says it whatever becomes of the job."""
    return dataclasses.replace(options, collars=job.collars) if options.collars == "as_planned" else options


@dataclass(frozen=True, slots=True)
class PricedChoice:
    """What a worker found for one choice of a quote's alternatives; all JSON."""

    chosen: tuple[str, ...]
    """Codes in the order of the quote; none for the quote as it stands."""
    price: dict[str, Any]
    labour: dict[str, Any]
    order_lines: list[dict[str, Any]]
    breakdown: dict[str, Any]


def priced(
    session: Session,
    account_id: str,
    quote_id: str,
    choices: Sequence[PricedChoice],
    alternatives: Sequence[dict[str, Any]] = (),
) -> Quote:
    """Gives a draft the prices a worker found, and issues it where that was wished and the job is still the same.

    `choices` are all that are permitted, that of none first; `alternatives` is JSON of `OfferedAlternative` with the
    differences. A quote that has a price already is left as it is.
    """
    quote = locked(session, account_id, quote_id)
    basis = basis_of(session, account_id, quote_id)
    if quote.body["price"] is not None or basis is None:
        return quote
    alone, *others = choices
    quote.body = {
        **quote.body,
        "price": alone.price,
        "alternatives": list(alternatives),
        "combinations": [{"chosen": list(one.chosen), "price": one.price} for one in others],
    }
    quote.version += 1
    basis.labour, basis.order_lines, basis.breakdown = alone.labour, alone.order_lines, alone.breakdown
    session.add_all(
        QuoteCombination(
            quote_id=quote_id,
            chosen=",".join(one.chosen),
            account_id=account_id,
            labour=one.labour,
            order_lines=one.order_lines,
            breakdown=one.breakdown,
        )
        for one in others
    )
    session.flush()
    if not basis.wish["draft"]:
        try:
            run = run_of_present_revision(session, quote)
        except (NotFound, NotPossibleNow):  # changed or removed meanwhile: it stays a draft
            return quote
        issue(session, quote, run)
    return quote


def delete_draft(session: Session, account_id: str, quote_id: str) -> None:
    """Removes a draft, which has no number yet, and gives up its pricing.

    Raises:
        NotFound: no such quote.
        NotPossibleNow: it was issued (`quote_frozen`).
    """
    quote = locked(session, account_id, quote_id)
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
        session.execute(
            delete(QuoteCombination).where(
                QuoteCombination.account_id == account_id, QuoteCombination.quote_id == quote_id
            )
        )
        session.flush()
    session.delete(quote)
    session.flush()
