"""Signing in with a key, and out again."""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask, Response, redirect, request

from service.api.problems import Refusal
from service.api.serving import Server
from service.pages.html import private_page
from service.pages.session import NoSecret, Sessions, new_token, same
from service.records import accounts
from service.records.store import now_of

_BAD_KEY = "That key is not known here. Copy the whole key, from “lapwise_” to its last character; a revoked one no longer works."


def add_sign_in(app: Flask, server: Server, sessions: Sessions) -> None:
    """Routes the pages."""

    def sign_in() -> Response:
        return _form(sessions)

    def signed_in() -> Response:
        if not sessions.form_is_ours(request):
            return _form(sessions, "The form was open too long. Enter the key once more.", status=400)
        if not server.rates.count(f"address {request.remote_addr}").allowed:
            return _form(sessions, "Too many tries from here. Wait a minute.", status=429)
        with server.store.writing() as session:
            key = accounts.find_key(session, request.form.get("key", "").strip())
            if key is not None and accounts.key_use_is_old(key, now_of(session)):
                accounts.note_key_use(session, key.account_id, key.id)
        if key is None:
            return _form(sessions, _BAD_KEY, status=401)
        if "read" not in key.scopes:
            return _form(sessions, "That key may not read. Use one that may.", status=403)
        response = redirect(_inside(request.form.get("next", "")), 303)
        sessions.begin(response, key.account_id, key.id)  # type: ignore[arg-type]
        return response  # type: ignore[return-value]

    def sign_out() -> Response:
        known = sessions.of(request)
        if known is not None and not same(known.csrf, request.form.get("csrf", "").partition(".")[0]):
            return private_page("refused.html", status=400, title="Not signed out", detail="The form was too old. Try once more.", request_id="")  # fmt: skip
        response = redirect("/sign-in?said=out", 303)
        sessions.end(response)  # type: ignore[arg-type]
        return response  # type: ignore[return-value]

    def guarded(view: Callable[[], Response]) -> Callable[[], Response]:
        def serve() -> Response:
            try:
                return view()
            except NoSecret as missing:
                raise Refusal("busy", str(missing)) from None

        return serve

    for rule, view, method in (("/sign-in", sign_in, "GET"), ("/sign-in", signed_in, "POST"), ("/sign-out", sign_out, "POST")):  # fmt: skip
        app.add_url_rule(
            rule,
            endpoint=f"page_{view.__name__}",
            view_func=guarded(view),
            methods=[method],
            provide_automatic_options=False,
        )


def _form(sessions: Sessions, fault: str = "", *, status: int = 200) -> Response:
    token = new_token()
    response = private_page(
        "sign_in.html",
        status=status,
        csrf=token,
        fault=fault,
        next=_inside(request.values.get("next", "")),
        out=request.args.get("said") == "out",
    )
    sessions.form_token(response, token)
    return response


def _inside(address: str) -> str:
    """An address of ours to go on to; nobody is led elsewhere."""
    plain = address.startswith("/") and not address.startswith(("//", "/\\")) and address.isprintable()
    return address if plain and not address.startswith("/sign-") else "/jobs"
