"""Where a job is not yet as its customer agreed: what differs, and the button that changes and plans it so."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.as_agreed import AsAgreedWish
from service.api.as_agreed import in_words
from service.pages.jobs import Head
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go
from service.records import quotes
from service.records.errors import NotPossibleNow


def add_as_agreed(pages: Pages) -> None:
    """Routes what the button does."""
    pages.add("/quotes/<quote>/as-agreed", plan_as_agreed, scope="write", methods=("POST",))


def agreed_work(visit: Visit, head: Head) -> dict[str, Any] | None:
    """The job beside its accepted quote, JSON of `AsAgreed` with what was agreed in words; None where none is accepted."""
    row = next((one for one in head.quotes if one.state == "accepted"), None)
    if row is None:
        return None
    told: dict[str, Any] = ask(visit, "read_as_agreed", row.id).body
    named = (head.body.get("agreement") or {}).get("quote") == row.id
    return {**told, "body": row.body, "words": in_words(told["settings"]), "named": named}


def plan_as_agreed(visit: Visit, quote: str) -> Response:
    """Changes the job to what was agreed and plans it; of a job that was changed since, the revision that was shown."""
    row = quotes.get_quote(visit.session, visit.account_id, quote)
    shown = request.form.get("onto_revision", "")
    known = shown.isdecimal() and shown.isascii() and len(shown) < 8 and int(shown) > 0
    try:
        told = ask(visit, "plan_as_agreed", quote, body=AsAgreedWish(int(shown) if known else None)).body
    except NotPossibleNow as refusal:
        if refusal.code != "job_changed_since":
            raise
        return go(f"/jobs/{row.job_id}/quote", "look_again")
    if not told["changed"]:
        return go(f"/jobs/{row.job_id}/quote", "agreed_already")
    return go(f"/jobs/{row.job_id}/plan", "as_agreed")
