"""What a customer sees of a quote by its signed link: look at it, choose, fetch its PDF, accept or decline. No key, no cookie.

The link is the proof and the form's token in one: it cannot be guessed, is in no cookie a browser would send along,
and is posted to itself. The page says nothing that the customer's sheet does not say, and says it as it was when the quote
was issued: the firm, the name of its tax and the language too. Nobody accepts a price unseen: what is ticked must be what
the price shown was for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flask import Flask, Response, redirect, request

from api_schema.quote import QuoteState
from api_schema.quote_alternatives import choice_faults, in_order
from service.api.problems import Refusal
from service.api.serving import Server
from service.offers import Offer, Offers
from service.pages.choices import alternatives_shown, names_of, prices_shown
from service.pages.html import private_page
from service.pages.session import NoSecret, Sessions
from service.records import accounts, documents, jobs, quote_answers, quotes
from service.records.errors import NotFound, NotPossibleNow
from service.records.store import now_of

_LONGEST_NAME = 120
_MOST_TICKS = 16
_VERBS: dict[str, QuoteState] = {"accept": "accepted", "decline": "declined"}


@dataclass(frozen=True, slots=True)
class _Typed:
    """What the customer had filled in."""

    name: str = ""
    chosen: tuple[str, ...] = ()


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
    typed = _Typed(name if name.isprintable() else "", tuple(request.form.getlist("chosen")[:_MOST_TICKS]))
    wanted = request.form.get("answer", "")
    with server.store.reading() as session:
        alternatives = quotes.alternatives_of(quotes.get_quote(session, offer.account_id, offer.quote_id))
    faults = choice_faults(alternatives, typed.chosen)
    if faults and wanted != "decline":
        words = " ".join(fault.detail for fault in faults)
        return _page(server, offer, token, fault=f"{words} Choose again.", status=422, typed=typed)
    if wanted == "show":
        return _page(server, offer, token, typed=typed)
    state = _VERBS.get(wanted)
    if state is None or not 0 < len(name) <= _LONGEST_NAME or not name.isprintable():
        fault = "Write your name, then choose."
        return _page(server, offer, token, fault=fault, status=422, typed=typed)
    chosen = in_order(alternatives, typed.chosen) if state == "accepted" else ()
    if state == "accepted" and ",".join(chosen) != request.form.get("shown", ""):
        fault = "The price below is that of what you ticked. Accept it if it suits you."
        return _page(server, offer, token, fault=fault, status=422, typed=typed)
    try:
        _note_answer(server, offer, state, name, chosen)
    except NotPossibleNow as refusal:
        return _page(server, offer, token, fault=str(refusal), status=409, typed=typed)
    return redirect(f"/offer/{token}", 303)  # type: ignore[return-value]


def _note_answer(server: Server, offer: Offer, state: QuoteState, name: str, chosen: Sequence[str]) -> None:
    with server.store.writing() as session:
        row = quotes.get_quote(session, offer.account_id, offer.quote_id)
        before = row.state
        row = quote_answers.answer_quote(
            session, offer.account_id, offer.quote_id, state, by=name, chosen=chosen
        )
        if before != state:
            names = names_of(row.body, chosen)
            accounts.note(
                session,
                offer.account_id,
                key_id=None,
                action=f"quote.{state}",
                subject=offer.quote_id,
                detail=f"{name}, by the customer's link" + (f": {'; '.join(names)}" if names else ""),
            )


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


def _page(
    server: Server,
    offer: Offer,
    token: str,
    *,
    fault: str = "",
    status: int = 200,
    typed: _Typed | None = None,
) -> Response:
    typed = typed or _Typed()
    with server.store.reading() as session:
        row = quotes.get_quote(session, offer.account_id, offer.quote_id)
        if row.state == "issued":  # what was answered stays to be read, also of a removed job
            jobs.get_job(session, offer.account_id, row.job_id)
        profile = quotes.firm_at_issue(session, offer.account_id, row)
        over = row.valid_until is not None and row.valid_until <= quotes.last_day_over(now_of(session))
        basis = quotes.basis_of(session, offer.account_id, offer.quote_id)
        paper = documents.document_of(session, offer.account_id, kind="quote", subject_id=row.id)
    language = profile.get("language", "en_GB")
    alternatives, agreed = quotes.alternatives_of(row), quotes.chosen_of(row, basis)
    possible = () if choice_faults(alternatives, typed.chosen) else in_order(alternatives, typed.chosen)
    showing = ",".join(possible if agreed is None else agreed)
    open_ = row.state == "issued" and not over
    prices = prices_shown(row.body)
    response = private_page(
        "offer.html",
        status=status,
        token=token,
        fault=fault,
        firm=profile,
        quote=row.body,
        state="expired" if over and row.state == "issued" else row.state,
        alternatives=alternatives_shown(row.body, language),
        prices=prices if open_ else [one for one in prices if one["codes"] == showing],
        showing=showing,
        ticked=typed.chosen,
        name=typed.name,
        chosen_names=names_of(row.body, agreed),
        answered_by=None if basis is None else basis.answered_by,
        paper=paper is not None,
        language=language,
    )
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response


def _closed(status: int, title: str, detail: str) -> Response:
    response = private_page("offer_closed.html", status=status, title=title, detail=detail)
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response
