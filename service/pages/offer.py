"""What a customer sees of a quote by its signed link: look at it, fetch its PDF, accept or decline. No key, no cookie.

The link is the proof and the form's token in one: it cannot be guessed, is in no cookie a browser would send along,
and is posted to itself. The page says nothing that the customer's sheet does not say.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from flask import Flask, Response, redirect, request

from service.api.problems import Refusal
from service.api.serving import Server
from service.offers import Offer, Offers
from service.pages.html import private_page
from service.pages.session import NoSecret, Sessions
from service.records import accounts, documents, quote_answers, quotes
from service.records.errors import NotFound, NotPossibleNow
from service.records.store import now_of
from service.records.tables import Quote

_LONGEST_NAME = 120
_GROUP_WORDS = {
    "materials": "Materials",
    "labour": "Labour",
    "access": "Access",
    "travel": "Travel",
    "overhead": "Overhead",
    "contingency": "Contingency",
    "discount": "Discount",
    "minimum": "Up to the minimum charge",
}
_VERBS = {"accept": "accepted", "decline": "declined"}


def add_offers(app: Flask, server: Server, sessions: Sessions) -> None:
    """Routes the page, and lets the API make links to it."""

    def secret() -> str:
        try:
            return sessions.secret()
        except NoSecret as missing:
            raise Refusal("busy", str(missing)) from None

    offers = Offers(secret)
    app.extensions["lapwise_offers"] = offers

    def guarded(view: Callable[..., Response]) -> Callable[..., Response]:
        def serve(token: str) -> Response:
            if not server.rates.count(f"address {request.remote_addr}").allowed:
                return _closed(429, "Too many requests from here", "Wait a minute and open the link again.")
            with server.store.reading() as session:
                offer = offers.read(token, now_of(session)) if len(token) <= 500 else None
            if offer is None:
                return _closed(
                    404,
                    "This link opens nothing",
                    "It is incomplete, or its time is over. Ask for a new one.",
                )
            try:
                response = view(server, offer, token)
            except NotFound:
                return _closed(
                    404, "This link opens nothing", "The quote is no longer there. Ask for a new one."
                )
            response.headers["X-Robots-Tag"] = "noindex, nofollow"
            response.headers["Cache-Control"] = "no-store"
            return response

        return serve

    for rule, view, method in (
        ("/offer/<token>", _look, "GET"),
        ("/offer/<token>", _answered, "POST"),
        ("/offer/<token>/quote.pdf", _paper, "GET"),
    ):
        app.add_url_rule(
            rule,
            endpoint=f"page_offer{view.__name__}",
            view_func=guarded(view),
            methods=[method],
            provide_automatic_options=False,
        )


def _look(server: Server, offer: Offer, token: str) -> Response:
    return _page(server, offer, token)


def _answered(server: Server, offer: Offer, token: str) -> Response:
    name = " ".join(request.form.get("name", "").split())
    state = _VERBS.get(request.form.get("answer", ""))
    if state is None or not 0 < len(name) <= _LONGEST_NAME or not name.isprintable():
        return _page(server, offer, token, fault="Write your name, then choose.", status=422)
    try:
        with server.store.writing() as session:
            before = quotes.get_quote(session, offer.account_id, offer.quote_id).state
            quote_answers.answer_quote(session, offer.account_id, offer.quote_id, state, by=name)  # type: ignore[arg-type]
            if before != state:
                accounts.note(
                    session,
                    offer.account_id,
                    key_id=None,
                    action=f"quote.{state}",
                    subject=offer.quote_id,
                    detail=f"{name}, by the customer's link",
                )
    except NotPossibleNow as refusal:
        return _page(server, offer, token, fault=str(refusal), status=409)
    return redirect(f"/offer/{token}", 303)  # type: ignore[return-value]


def _paper(server: Server, offer: Offer, token: str) -> Response:
    with server.store.reading() as session:
        row = documents.document_of(session, offer.account_id, kind="quote", subject_id=offer.quote_id)
        if row is None:
            return _page(
                server, offer, token, fault="The PDF is being made. Try again in a moment.", status=503
            )
        response = Response(documents.content_of(session, row), content_type=row.media_type)
        response.headers["Content-Disposition"] = f'inline; filename="{row.filename}"'
    return response


def _page(server: Server, offer: Offer, token: str, *, fault: str = "", status: int = 200) -> Response:
    with server.store.reading() as session:
        row = quotes.get_quote(session, offer.account_id, offer.quote_id)
        profile = accounts.get_account(session, offer.account_id).profile
        over = row.valid_until is not None and now_of(session).date() > row.valid_until
        basis = quotes.basis_of(session, offer.account_id, offer.quote_id)
        paper = documents.document_of(session, offer.account_id, kind="quote", subject_id=row.id)
    response = private_page(
        "offer.html",
        status=status,
        token=token,
        fault=fault,
        firm=profile,
        quote=row.body,
        state="expired" if over and row.state == "issued" else row.state,
        groups=_groups(row),
        answered_by=None if basis is None else basis.answered_by,
        paper=paper is not None,
        language=profile.get("language", "en_GB"),
    )
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response


def _groups(row: Quote) -> list[tuple[str, Decimal]]:
    """As on the customer's sheet: one sum for each group of lines."""
    sums: dict[str, Decimal] = {}
    for line in row.body["price"]["lines"]:
        sums[line["group"]] = sums.get(line["group"], Decimal(0)) + Decimal(line["amount"])
    return [(_GROUP_WORDS[group], amount) for group, amount in sums.items()]


def _closed(status: int, title: str, detail: str) -> Response:
    response = private_page("offer_closed.html", status=status, title=title, detail=detail)
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response
