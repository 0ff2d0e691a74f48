"""What becomes of an issued quote: a link for the customer, and their answer with what they chose."""

from __future__ import annotations

import datetime

from flask import current_app

from api_schema.quote import QuoteState
from api_schema.quote_alternatives import QuoteAcceptance, choice_faults
from api_schema.quote_more import OfferLink
from api_schema.shape import dump
from api_schema.stored import StoredQuote
from service.api.editing import check_match
from service.api.links import address
from service.api.noting import note
from service.api.operation import Answer, Asked, Resource
from service.api.problems import Refusal, bad_input
from service.api.quote_shown import answer_with, quote_etag, shown_quote
from service.offers import Offer, Offers
from service.records import quote_answers as records
from service.records.jobs import get_job
from service.records.quotes import alternatives_of, get_quote

answers = Resource(
    "quote-answers",
    "Answers to quotes",
    "A link at which the customer answers, and what they said: accepted with the alternatives they chose, or declined.",
)


@answers.operation(
    "POST",
    "/v1/quotes/{quote}/link",
    "Make a link for the customer",
    scope="write",
    gives={201: OfferLink},
    may_answer=(404, 409),
)
def make_link(asked: Asked, quote: str) -> Answer:
    """Makes a signed address at which the customer may look at an issued quote and accept or decline it without a key.

    It opens until the day after the quote's last day. Whoever has it may answer, so send it to the customer alone.
    """
    row = get_quote(asked.session, asked.caller.account_id, quote)
    get_job(asked.session, asked.caller.account_id, row.job_id)
    if row.state not in ("issued", "accepted") or row.valid_until is None:
        raise Refusal("quote_not_open", f"The quote is {row.state}; only an issued one has a link.")
    ends = datetime.datetime.combine(row.valid_until, datetime.time(), datetime.UTC) + datetime.timedelta(
        days=2
    )
    offers: Offers = current_app.extensions["lapwise_offers"]
    token = offers.token(Offer(asked.caller.account_id, row.id, ends))
    note(asked, "quote.link_made", quote)
    return Answer(dump(OfferLink(address(f"/offer/{token}"), ends)), status=201)


@answers.operation(
    "POST",
    "/v1/quotes/{quote}/accept",
    "Accept a quote",
    scope="write",
    takes=QuoteAcceptance,
    example={"chosen": []},
    optional=True,
    gives={200: StoredQuote},
    may_answer=(404, 409, 412),
    etag=True,
)
def accept_quote(asked: Asked, quote: str) -> Answer:
    """Notes that the customer accepted, and which of the alternatives they chose. Only an issued quote within its days can be;
    the last one counts until it is over everywhere, twelve hours after it ends in UTC.

    `chosen` names alternatives by code; without it the quote is accepted as it stands. What follows (breakdown,
    orders, ledger) goes by the choice. A revision accepted before it becomes `superseded`: what was agreed last holds. The same again changes nothing; another choice afterwards is a 409.
    `If-Match` may be sent to accept exactly what was read.
    """
    acceptance: QuoteAcceptance = asked.body or QuoteAcceptance()
    return _decided(asked, quote, "accepted", acceptance.chosen)


@answers.operation(
    "POST",
    "/v1/quotes/{quote}/decline",
    "Decline a quote",
    scope="write",
    gives={200: StoredQuote},
    may_answer=(404, 409, 412),
    etag=True,
)
def decline_quote(asked: Asked, quote: str) -> Answer:
    """Notes that the customer declined. Only an issued quote within its days can be; twice changes nothing.

    `If-Match` may be sent to decline exactly what was read.
    """
    return _decided(asked, quote, "declined")


def _decided(asked: Asked, quote: str, state: QuoteState, chosen: tuple[str, ...] = ()) -> Answer:
    account_id = asked.caller.account_id
    row = get_quote(asked.session, account_id, quote)
    if asked.if_match is not None:
        check_match(asked.if_match, quote_etag(row, shown_quote(asked, row)))
    faults = choice_faults(alternatives_of(row), chosen)
    if faults:
        raise bad_input(faults)
    changed = row.state != state
    row = records.answer_quote(asked.session, account_id, quote, state, chosen=chosen)
    if changed:
        note(asked, f"quote.{state}", quote)
    return answer_with(asked, row)
