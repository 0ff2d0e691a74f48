"""What becomes of an issued quote: the customer accepts or declines it, or its last day passes."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from api_schema.quote import QuoteState
from api_schema.quote_alternatives import OfferedAlternative, choice_faults, in_order
from service.records.errors import NotPossibleNow, Stale
from service.records.jobs import get_job
from service.records.quotes import alternatives_of, basis_of, chosen_of, last_day_over, locked, move, tell_of
from service.records.store import now_of
from service.records.tables import Quote


def answer_quote(
    session: Session,
    account_id: str,
    quote_id: str,
    state: QuoteState,
    *,
    if_version: int | None = None,
    by: str | None = None,
    chosen: Sequence[str] = (),
) -> Quote:
    """Accepts or declines an issued quote; saying the same twice changes nothing. `by` is who said so, in words.

    `chosen` are codes of the alternatives accepted with it, in any order. They are kept beside the quote, whose body
    stays as it was issued. A job has one accepted quote: a later revision that is accepted takes the place of the one
    accepted before it, whose answer stays with it.

    Raises:
        NotFound: no such quote, or its job was removed.
        Stale: its version is no longer `if_version`.
        NotPossibleNow: it is not open for an answer (`quote_not_open`), its last day has passed (`quote_expired`), or
            it was accepted with another choice (`chosen_otherwise`).
        ValueError: a choice that `choice_faults` refuses.
    """
    quote = locked(session, account_id, quote_id)
    basis = basis_of(session, account_id, quote_id)
    if basis is not None:
        session.refresh(basis)  # it may have been read before the quote was locked
    alternatives = alternatives_of(quote)
    if choice_faults(alternatives, chosen):
        raise ValueError(f"{chosen} cannot be chosen of quote {quote_id}")
    wanted = list(in_order(alternatives, chosen))
    if quote.state == state:
        if state == "accepted" and chosen_of(quote, basis) != wanted:
            raise NotPossibleNow(
                "chosen_otherwise",
                f"The quote was accepted before, {_words(alternatives, chosen_of(quote, basis) or [])}. That stands.",
            )
        return quote
    get_job(session, account_id, quote.job_id)
    if if_version is not None and quote.version != if_version:
        raise Stale("quote")
    if quote.state != "issued":
        raise NotPossibleNow("quote_not_open", f"The quote is {quote.state}; only an issued one is answered.")
    if quote.valid_until is not None and quote.valid_until <= last_day_over(now_of(session)):
        raise NotPossibleNow(
            "quote_expired", f"The quote was valid until {quote.valid_until}. Issue a new revision."
        )
    if state == "accepted":
        for agreed_before in _accepted_before(session, quote):
            move(agreed_before, "superseded")
    move(quote, state)
    if basis is not None:
        basis.answered_by, basis.answered_at = by, now_of(session)
        if state == "accepted":
            basis.chosen = wanted
    session.flush()
    tell_of(session, quote)
    return quote


def _accepted_before(session: Session, quote: Quote) -> Sequence[Quote]:
    """Other quotes of its job that stand as accepted; its job is locked."""
    return session.scalars(
        select(Quote)
        .where(
            Quote.account_id == quote.account_id,
            Quote.job_id == quote.job_id,
            Quote.id != quote.id,
            Quote.state == "accepted",
        )
        .with_for_update()
        .execution_options(populate_existing=True)
    ).all()


def _words(alternatives: Sequence[OfferedAlternative], chosen: Sequence[str]) -> str:
    names = [f"“{one.name}”" for one in alternatives if one.code in chosen]
    return f"with {' and '.join(names)}" if names else "as it stands"


def expire_quotes(session: Session) -> int:
    """Marks issued quotes whose last day has passed everywhere, of every account; gives how many."""
    over = last_day_over(now_of(session))
    past = session.scalars(
        select(Quote).where(Quote.state == "issued", Quote.valid_until <= over).limit(500)
    ).all()
    for quote in past:
        session.execute(
            update(Quote)
            .where(Quote.id == quote.id, Quote.version == quote.version, Quote.state == "issued")
            .values(state="expired", body={**quote.body, "state": "expired"}, version=Quote.version + 1)
            .execution_options(synchronize_session=False)
        )
    return len(past)
