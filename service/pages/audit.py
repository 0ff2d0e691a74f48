"""The audit trail of an account: who did what to what, and when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Response, request

from service.pages.operations import ask
from service.pages.serving import Pages, Visit
from service.records import accounts, jobs, orders, quotes
from service.records.errors import NotFound

_PAGE = 50
_VALUES = {"price_book": "the price book", "standard": "the standard", "outputs": "the working speeds"}
_KINDS = {
    "bat": "a batch", "doc": "a document", "hook": "a hook", "hrs": "hours", "key": "a key",
    "mod": "a building model", "run": "a plan", "tst": "a pressure test",
}  # fmt: skip
"""What a thing is called that has no name of its own, by how its identifier begins."""


def add_audit(pages: Pages) -> None:
    """Routes the page."""
    pages.add("/account/audit", audit, read_with="admin")


def audit(visit: Visit) -> Response:
    """What was done, newest first; of one thing where its name is given."""
    subject = request.args.get("subject", "").strip()[:64]
    found = ask(
        visit,
        "read_audit",
        query={"limit": _PAGE, "cursor": request.args.get("cursor"), "subject": subject or None},
    ).body
    return visit.page(
        "audit.html", title="What was done", part="/account", items=found["items"], following=found.get("next"),
        subject=subject, said_of=said_of, called=_called(visit, found["items"]), owner=visit.account_id,
        first=not request.args.get("cursor"),
    )  # fmt: skip


def said_of(action: str) -> str:
    """An action in words: "Quote issued", "Changed the price book"."""
    what, _, done = action.partition(".")
    if what in _VALUES:
        return f"Changed {_VALUES[what]}"
    return f"{what.replace('_', ' ').capitalize()} {done.replace('_', ' ')}"


def _called(visit: Visit, items: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """What people call the jobs, quotes, orders and customers of these entries, as far as they are there."""
    names: dict[str, str] = {}
    for one in items:
        subject = one["subject"]
        kind = subject.partition("_")[0]
        if kind in _KINDS:
            names[subject] = _KINDS[kind]
        try:
            if subject.startswith("job_"):
                row = jobs.get_job(visit.session, visit.account_id, subject)
                names[subject] = row.title or row.reference
            elif subject.startswith("quo_"):
                names[subject] = f"quote {quotes.get_quote(visit.session, visit.account_id, subject).number}"
            elif subject.startswith("ord_"):
                names[subject] = f"order {orders.get_order(visit.session, visit.account_id, subject).number}"
            elif subject.startswith("acc_") and subject != visit.account_id:
                names[subject] = str(
                    accounts.customer_of(visit.session, visit.account_id, subject).profile["name"]
                )
        except NotFound:
            continue  # it was removed since
    return names
