"""Quotes: issued from a ready plan, then accepted or declined."""

from __future__ import annotations

from typing import Any

from api_schema.quote import QuoteState
from api_schema.stored import StoredQuote
from service.api.editing import check_match, etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import whole_list
from service.records import accounts, documents, tables
from service.records import quotes as records

quotes = Resource(
    "quotes",
    "Quotes",
    "Priced offers made from a plan: numbered without gaps, revisioned, dated, and frozen once issued.",
)


def _shown(asked: Asked, row: tables.Quote) -> dict[str, Any]:
    paper = documents.document_of(asked.session, asked.caller.account_id, kind="quote", subject_id=row.id)
    here = address(f"/v1/quotes/{row.id}")
    links = {"self": here, "job": address(f"/v1/jobs/{row.job_id}")}
    if row.state == "issued":
        links |= {"accept": f"{here}/accept", "decline": f"{here}/decline"}
    if paper is not None:
        links["document"] = address(f"/v1/documents/{paper.id}")
    return {
        **row.body,
        "id": row.id,
        "job": row.job_id,
        "document": None if paper is None else paper.id,
        "created_at": row.created_at.isoformat(),
        "links": links,
    }


def _etag(row: tables.Quote, shown: dict[str, Any]) -> str:
    return etag_of("quote", row.id, row.version, shown["document"])


def _answer(asked: Asked, row: tables.Quote, *, status: int = 200) -> Answer:
    shown = _shown(asked, row)
    headers = {"Location": shown["links"]["self"]} if status == 201 else {}
    return Answer(shown, status=status, etag=_etag(row, shown), headers=headers)


@quotes.operation(
    "POST",
    "/v1/jobs/{job}/quotes",
    "Issue a quote",
    scope="write",
    gives={201: StoredQuote},
    may_answer=(404, 409),
    etag=True,
)
def issue_quote(asked: Asked, job: str) -> Answer:
    """Issues a quote from the ready plan of the job's present revision, dated today and frozen.

    The first takes the next number of the year; a later one is a further revision under the same number, and the
    one it replaces becomes `superseded`. Its PDF follows shortly; `document` names it once it is rendered. 409 while
    the plan is not ready.
    """
    row = records.issue_quote(asked.session, asked.caller.account_id, job)
    _note(asked, "quote.issued", row.id)
    return _answer(asked, row, status=201)


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
