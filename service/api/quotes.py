"""Quotes: made from a ready plan, looked at, issued. What becomes of an issued one is in `quote_answers`."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from api_schema.breakdown import Breakdown
from api_schema.quote_more import QuoteChanges
from api_schema.quote_wish import QuoteWish
from api_schema.shape import dump
from api_schema.stored import StoredQuote
from service.api.editing import check_match
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import whole_list
from service.api.problems import Refusal, bad_input
from service.api.quote_changes import changes
from service.api.quote_shown import answer_with, quote_etag, shown_quote
from service.api.quote_wishes import wish_faults
from service.api.xml import xml_of
from service.records import jobs, quote_drafts, quote_issuing, runs
from service.records import quotes as records
from service.records.own_values import get_snapshot

quotes = Resource(
    "quotes",
    "Quotes",
    "Priced offers made from a plan: numbered without gaps, revisioned, dated, and frozen once issued.",
)


@quotes.operation(
    "POST",
    "/v1/jobs/{job}/quotes",
    "Make a quote",
    scope="write",
    takes=QuoteWish,
    example={
        "options": {"discount": "0.02"},
        "valid_days": 45,
        "alternatives": [
            {"name": "Collars brought and fitted by your plumber and electrician", "collars": "by_others"}
        ],
    },
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
    from the plan, or `alternatives`, a worker prices it first: 202, `pricing` says how far it is, and `Prefer: wait=N` holds the answer;
    it is then issued by itself, unless it is to be a draft or the job has changed meanwhile.

    `alternatives` are what the customer may tick on the offer. Each lays an option or two over `options`; two that
    set the same option exclude each other. Every choice that is left, at most 16, is priced exactly: `combinations`.
    One that changes nothing is refused.
    """
    account_id = asked.caller.account_id
    wish: QuoteWish = asked.body or QuoteWish()
    _, run = records.ready_plan_of(asked.session, account_id, job)
    book = get_snapshot(asked.session, account_id, run.snapshots["price_book"])
    planned = jobs.job_body(asked.session, account_id, job, run.revision)
    faults = wish_faults(wish, planned, book)
    if faults:
        raise bad_input(faults)
    row = quote_drafts.make_quote(asked.session, account_id, job, wish)
    note(asked, "quote.issued" if row.state == "issued" else "quote.drafted", row.id)
    if row.body["price"] is not None:
        return answer_with(asked, row, status=201)
    taken = answer_with(asked, row, status=202)
    headers = {"Location": taken.body["links"]["self"], "Retry-After": "1"}
    return replace(taken, headers=headers, wait=partial(_once_priced, asked, row.id))


def _once_priced(asked: Asked, quote_id: str, seconds: float) -> Answer:
    account_id = asked.caller.account_id
    with asked.store.reading() as session:
        basis = records.basis_of(session, account_id, quote_id)
    if basis is not None and basis.pricing_run_id is not None:
        runs.wait_for_run(asked.store, account_id, basis.pricing_run_id, seconds=seconds)
    with asked.store.reading() as session:
        row = records.get_quote(session, account_id, quote_id)
        status = 202 if row.body["price"] is None else 201
        answer = answer_with(replace(asked, session=session), row, status=status)
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
        records.list_quotes(asked.session, asked.caller.account_id, job), lambda row: shown_quote(asked, row)
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
    """Gives a quote as it was issued, and where it stands: once accepted, what was `chosen` and the `agreed_price`."""
    return answer_with(asked, records.get_quote(asked.session, asked.caller.account_id, quote))


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
    """Gives the price by surface and by operation with the firm's own costs. For your eyes; no document shows it.

    Of an accepted quote, the price with the alternatives that were chosen.
    """
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
        check_match(asked.if_match, quote_etag(row, shown_quote(asked, row)))
    was = row.state
    row = quote_issuing.issue_draft(asked.session, account_id, quote)
    if was == "draft":
        note(asked, "quote.issued", quote)
    return answer_with(asked, row)


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
    check_match(asked.if_match, quote_etag(row, shown_quote(asked, row)))
    quote_drafts.delete_draft(asked.session, account_id, quote)
    note(asked, "quote.deleted", quote)
    return Answer(status=204)
