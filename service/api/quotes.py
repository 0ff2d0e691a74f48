"""Quotes: issued from a ready plan, then accepted or declined."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from flask import current_app

from api_schema.breakdown import Breakdown
from api_schema.problem import Fault
from api_schema.quote import QuoteState
from api_schema.quote_more import OfferLink, QuoteChanges
from api_schema.quote_options import QuoteWish
from api_schema.shape import dump
from api_schema.stored import StoredQuote
from api_schema.tax import STANDARD
from service.api.editing import check_match, etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import whole_list
from service.api.problems import Refusal, bad_input
from service.api.quote_changes import changes
from service.api.xml import xml_of
from service.offers import Offer, Offers
from service.records import accounts, documents, runs, tables
from service.records import quotes as records
from service.records.own_values import get_snapshot

quotes = Resource(
    "quotes",
    "Quotes",
    "Priced offers made from a plan: numbered without gaps, revisioned, dated, and frozen once issued.",
)


def _shown(asked: Asked, row: tables.Quote) -> dict[str, Any]:
    paper = documents.document_of(asked.session, asked.caller.account_id, kind="quote", subject_id=row.id)
    here = address(f"/v1/quotes/{row.id}")
    links = {"self": here, "job": address(f"/v1/jobs/{row.job_id}"), "changes": f"{here}/changes"}
    if row.state == "draft":
        links["issue"] = f"{here}/issue"
    if row.state == "issued":
        links |= {"accept": f"{here}/accept", "decline": f"{here}/decline", "link": f"{here}/link"}
    if paper is not None:
        links["document"] = address(f"/v1/documents/{paper.id}")
    basis = records.basis_of(asked.session, asked.caller.account_id, row.id)
    run = _pricing_run(asked, row)
    at = None if basis is None else basis.answered_at
    return {
        **row.body,
        "pricing": "ready" if row.body["price"] is not None else run.state if run else "failed",
        "problem": None if run is None or row.body["price"] is not None else run.problem,
        "answered_by": None if basis is None else basis.answered_by,
        "answered_at": None if at is None else at.isoformat(),
        "id": row.id,
        "job": row.job_id,
        "document": None if paper is None else paper.id,
        "created_at": row.created_at.isoformat(),
        "links": links,
    }


def _pricing_run(asked: Asked, row: tables.Quote) -> tables.Run | None:
    basis = records.basis_of(asked.session, asked.caller.account_id, row.id)
    if basis is None or basis.pricing_run_id is None:
        return None
    return runs.get_run(asked.session, asked.caller.account_id, basis.pricing_run_id)


def _etag(row: tables.Quote, shown: dict[str, Any]) -> str:
    return etag_of("quote", row.id, row.version, shown["document"])


def _answer(asked: Asked, row: tables.Quote, *, status: int = 200) -> Answer:
    shown = _shown(asked, row)
    headers = {"Location": shown["links"]["self"]} if status == 201 else {}
    return Answer(shown, status=status, etag=_etag(row, shown), headers=headers)


@quotes.operation(
    "POST",
    "/v1/jobs/{job}/quotes",
    "Make a quote",
    scope="write",
    takes=QuoteWish,
    example={"options": {"collars": "by_others", "discount": "0.02"}, "valid_days": 45},
    optional=True,
    gives={201: StoredQuote, 202: StoredQuote},
    may_answer=(404, 409),
    waits=True,
    etag=True,
)
def issue_quote(asked: Asked, job: str) -> Answer:
    """Makes a quote from the ready plan of the job's present revision and issues it, dated today and frozen.

    The first takes the next number of the year; a later one is a further revision under the same number, and the
    one it replaces becomes `superseded`. Its PDF follows shortly; `document` names it once it is rendered. 409 while
    the plan is not ready.

    With `draft` it stays a draft to be looked at, without a number, until it is issued. With `options` that differ
    from the plan a worker prices it first: 202, `pricing` says how far it is, and `Prefer: wait=N` holds the answer;
    it is then issued by itself, unless it is to be a draft or the job has changed meanwhile.
    """
    account_id = asked.caller.account_id
    wish: QuoteWish = asked.body or QuoteWish()
    _, run = records.ready_plan_of(asked.session, account_id, job)
    book = get_snapshot(asked.session, account_id, run.snapshots["price_book"])
    faults = _unknown_rates(wish, book)
    if faults:
        raise bad_input(faults)
    row = records.make_quote(asked.session, account_id, job, wish)
    _note(asked, "quote.issued" if row.state == "issued" else "quote.drafted", row.id)
    if row.body["price"] is not None:
        return _answer(asked, row, status=201)
    taken = _answer(asked, row, status=202)
    headers = {"Location": taken.body["links"]["self"], "Retry-After": "1"}
    return replace(taken, headers=headers, wait=partial(_once_priced, asked, row.id))


def _unknown_rates(wish: QuoteWish, book: Mapping[str, Any]) -> tuple[Fault, ...]:
    known = [STANDARD, *(rate["code"] for rate in book.get("tax_rates", ()) if rate["code"] != STANDARD)]
    named = {"tax": wish.options.tax, "access_tax": wish.options.access_tax}
    return tuple(
        Fault(
            f"/options/{name}", f'"{code}" is no tax rate of the price book planned with: {", ".join(known)}.'
        )
        for name, code in named.items()
        if code is not None and code not in known
    )


def _once_priced(asked: Asked, quote_id: str, seconds: float) -> Answer:
    account_id = asked.caller.account_id
    with asked.store.reading() as session:
        basis = records.basis_of(session, account_id, quote_id)
    if basis is not None and basis.pricing_run_id is not None:
        runs.wait_for_run(asked.store, account_id, basis.pricing_run_id, seconds=seconds)
    with asked.store.reading() as session:
        row = records.get_quote(session, account_id, quote_id)
        status = 202 if row.body["price"] is None else 201
        answer = _answer(replace(asked, session=session), row, status=status)
        return replace(answer, headers={"Location": answer.body["links"]["self"]})


@quotes.operation(
    "GET",
    "/v1/jobs/{job}/quotes",
    "List a job's quotes",
    scope="read",
    gives={200: ListOf(StoredQuote)},
    may_answer=(404,),
)
def list_quotes(asked: Asked, job: str) -> Answer:
    """Lists every quote of a job, newest revision first."""
    return whole_list(
        records.list_quotes(asked.session, asked.caller.account_id, job), lambda row: _shown(asked, row)
    )


@quotes.operation(
    "GET",
    "/v1/quotes/{quote}",
    "Read a quote",
    scope="read",
    gives={200: StoredQuote},
    may_answer=(404,),
    etag=True,
)
def read_quote(asked: Asked, quote: str) -> Answer:
    """Gives a quote as it was issued, and where it stands."""
    return _answer(asked, records.get_quote(asked.session, asked.caller.account_id, quote))


@quotes.operation(
    "GET",
    "/v1/quotes/{quote}/changes",
    "Compare with the revision before",
    scope="read",
    gives={200: QuoteChanges},
    may_answer=(404,),
)
def read_changes(asked: Asked, quote: str) -> Answer:
    """Gives what is not alike in this quote and the one issued before it, line by line. A draft is compared with the one issued last."""
    row = records.get_quote(asked.session, asked.caller.account_id, quote)
    previous = records.previous_of(asked.session, asked.caller.account_id, row)
    return Answer(dump(changes(row, previous)))


@quotes.operation(
    "GET",
    "/v1/quotes/{quote}/breakdown",
    "Take a quote's price apart",
    scope="read",
    gives={200: Breakdown},
    may_answer=(404, 409),
)
def read_breakdown(asked: Asked, quote: str) -> Answer:
    """Gives the price by surface and by operation with the firm's own costs. For your eyes; no document shows it."""
    row = records.get_quote(asked.session, asked.caller.account_id, quote)
    found = records.breakdown_of(asked.session, asked.caller.account_id, row)
    if found is None:
        raise Refusal(
            "quote_not_priced",
            "The quote has no breakdown: it has no price yet, or was made before there were any.",
        )
    return Answer(found)


@quotes.operation(
    "GET",
    "/v1/quotes/{quote}.xml",
    "Read a quote as UBL",
    scope="read",
    gives={200: Media("application/xml", "The quote as an OASIS UBL 2.1 Quotation.")},
    may_answer=(404, 409),
    etag=True,
)
def read_quote_xml(asked: Asked, quote: str) -> Answer:
    """Gives an issued quote as an OASIS UBL 2.1 Quotation, as attached in its PDF. 409 until it is rendered."""
    row = records.get_quote(asked.session, asked.caller.account_id, quote)
    return xml_of(asked, kind="quote_xml", subject_id=row.id)


@quotes.operation(
    "POST",
    "/v1/quotes/{quote}/issue",
    "Issue a draft",
    scope="write",
    gives={200: StoredQuote},
    may_answer=(404, 409, 412),
    etag=True,
)
def issue_draft(asked: Asked, quote: str) -> Answer:
    """Issues a draft as it stands: it gets its number, is dated today, and never changes again. Twice changes nothing.

    409 where it has no price yet, or the job has changed since it was made. `If-Match` may be sent to issue exactly
    what was read.
    """
    account_id = asked.caller.account_id
    row = records.get_quote(asked.session, account_id, quote)
    if asked.if_match is not None:
        check_match(asked.if_match, _etag(row, _shown(asked, row)))
    was = row.state
    row = records.issue_draft(asked.session, account_id, quote)
    if was == "draft":
        _note(asked, "quote.issued", quote)
    return _answer(asked, row)


@quotes.operation(
    "DELETE",
    "/v1/quotes/{quote}",
    "Delete a draft",
    scope="write",
    gives={204: None},
    may_answer=(404, 409),
    edits=True,
)
def delete_quote(asked: Asked, quote: str) -> Answer:
    """Deletes a draft, which has no number yet. 409 where it was issued: that is kept, and a further revision takes its place."""
    account_id = asked.caller.account_id
    row = records.get_quote(asked.session, account_id, quote)
    check_match(asked.if_match, _etag(row, _shown(asked, row)))
    records.delete_draft(asked.session, account_id, quote)
    _note(asked, "quote.deleted", quote)
    return Answer(status=204)


@quotes.operation(
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
    row = records.get_quote(asked.session, asked.caller.account_id, quote)
    if row.state not in ("issued", "accepted") or row.valid_until is None:
        raise Refusal("quote_not_open", f"The quote is {row.state}; only an issued one has a link.")
    ends = datetime.datetime.combine(row.valid_until, datetime.time(), datetime.UTC) + datetime.timedelta(
        days=2
    )
    offers: Offers = current_app.extensions["lapwise_offers"]
    token = offers.token(Offer(asked.caller.account_id, row.id, ends))
    _note(asked, "quote.link_made", quote)
    return Answer(dump(OfferLink(address(f"/offer/{token}"), ends)), status=201)


@quotes.operation(
    "POST",
    "/v1/quotes/{quote}/accept",
    "Accept a quote",
    scope="write",
    gives={200: StoredQuote},
    may_answer=(404, 409, 412),
    etag=True,
)
def accept_quote(asked: Asked, quote: str) -> Answer:
    """Notes that the customer accepted. Only an issued quote within its days can be; twice changes nothing.

    `If-Match` may be sent to accept exactly what was read.
    """
    return _decided(asked, quote, "accepted")


@quotes.operation(
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


def _decided(asked: Asked, quote: str, state: QuoteState) -> Answer:
    account_id = asked.caller.account_id
    row = records.get_quote(asked.session, account_id, quote)
    if asked.if_match is not None:
        check_match(asked.if_match, _etag(row, _shown(asked, row)))
    changed = row.state != state
    row = records.answer_quote(asked.session, account_id, quote, state)
    if changed:
        _note(asked, f"quote.{state}", quote)
    return _answer(asked, row)


def _note(asked: Asked, action: str, subject: str) -> None:
    accounts.note(
        asked.session, asked.caller.account_id, key_id=asked.caller.key_id, action=action, subject=subject
    )
