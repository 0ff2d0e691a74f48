"""A quote as the API answers with it: as it was issued, and beside it how far it is and what was answered."""

from __future__ import annotations

from typing import Any

from service.api.editing import etag_of
from service.api.links import address
from service.api.operation import Answer, Asked
from service.records import documents, runs, tables
from service.records import quotes as records


def shown_quote(asked: Asked, row: tables.Quote) -> dict[str, Any]:
    """JSON of `StoredQuote`."""
    paper = documents.document_of(asked.session, asked.caller.account_id, kind="quote", subject_id=row.id)
    here = address(f"/v1/quotes/{row.id}")
    links = {"self": here, "job": address(f"/v1/jobs/{row.job_id}"), "changes": f"{here}/changes"}
    if row.state == "draft":
        links["issue"] = f"{here}/issue"
    if row.state == "issued":
        links |= {"accept": f"{here}/accept", "decline": f"{here}/decline", "link": f"{here}/link"}
    if row.state == "accepted":
        links["as_agreed"] = f"{here}/as-agreed"
    if paper is not None:
        links["document"] = address(f"/v1/documents/{paper.id}")
    basis = records.basis_of(asked.session, asked.caller.account_id, row.id)
    run = _pricing_run(asked, basis)
    at = None if basis is None else basis.answered_at
    chosen = records.chosen_of(row, basis)
    return {
        "alternatives": [],
        "combinations": [],
        **row.body,
        "pricing": "ready" if row.body["price"] is not None else run.state if run else "failed",
        "problem": None if run is None or row.body["price"] is not None else run.problem,
        "answered_by": None if basis is None else basis.answered_by,
        "answered_at": None if at is None else at.isoformat(),
        "chosen": chosen,
        "agreed_price": None if chosen is None else records.agreed_price(row.body, chosen),
        "id": row.id,
        "job": row.job_id,
        "document": None if paper is None else paper.id,
        "created_at": row.created_at.isoformat(),
        "links": links,
    }


def quote_etag(row: tables.Quote, shown: dict[str, Any]) -> str:
    """Names this version of it, its document included."""
    return etag_of("quote", row.id, row.version, shown["document"])


def answer_with(asked: Asked, row: tables.Quote, *, status: int = 200) -> Answer:
    """The answer that shows it."""
    shown = shown_quote(asked, row)
    headers = {"Location": shown["links"]["self"]} if status == 201 else {}
    return Answer(shown, status=status, etag=quote_etag(row, shown), headers=headers)


def _pricing_run(asked: Asked, basis: tables.QuoteBasis | None) -> tables.Run | None:
    if basis is None or basis.pricing_run_id is None:
        return None
    return runs.get_run(asked.session, asked.caller.account_id, basis.pricing_run_id)
