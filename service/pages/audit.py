"""The audit trail of an account: who did what to what, and when."""

from __future__ import annotations

from flask import Response, request

from service.pages.operations import ask
from service.pages.serving import Pages, Visit

_PAGE = 50
_VALUES = {"price_book": "the price book", "standard": "the standard", "outputs": "the outputs"}


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
        subject=subject, said_of=said_of, owner=visit.account_id, first=not request.args.get("cursor"),
    )  # fmt: skip


def said_of(action: str) -> str:
    """An action in words: "Quote issued", "Changed the price book"."""
    what, _, done = action.partition(".")
    if what in _VALUES:
        return f"Changed {_VALUES[what]}"
    return f"{what.replace('_', ' ').capitalize()} {done.replace('_', ' ')}"
