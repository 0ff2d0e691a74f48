"""What stands around every page of an account: the session, the form's token, the transaction, and refusals in words."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote

import structlog
from flask import Flask, Response, current_app, g, redirect, request
from sqlalchemy.orm import Session

from service.api.caller import Caller, require
from service.api.operation import Asked, Scope
from service.api.problems import Refusal
from service.api.serving import PLAIN_NAME_CHARACTERS, Server
from service.pages.html import private_page
from service.pages.refusals import advice_of
from service.pages.session import Sessions, SignedIn, new_token, same
from service.records import accounts, errors, repeats, tables
from service.records.errors import NotFound, RecordsError
from service.records.own_values import currency_of

_log = structlog.get_logger(__name__)
_LARGEST_FORM = 5 * 1024 * 1024

SAID = {
    "saved": "Saved.",
    "planning": "Saved. The plan is being made.",
    "removed": "The job was removed.",
    "draft_deleted": "The draft was deleted.",
    "order_changed": "The order was changed. Its PDF is being made anew.",
    "drafted": "The draft was made. Issue it once it reads as it should.",
    "issued": "The quote was issued. Its PDF follows in a moment.",
    "accepted": "Noted: the customer accepted.",
    "as_agreed": "The job has what was agreed. It is being planned again.",
    "agreed_already": "There was nothing to change: the job has what was agreed.",
    "look_again": "The job was changed meanwhile. Look at what differs, and press the button once more.",
    "declined": "Noted: the customer declined.",
    "ordered": "The orders were made. Their PDFs follow in a moment. Nothing was sent to a supplier.",
    "sent": "Noted: the order was sent.",
    "confirmed": "Noted: the supplier confirmed.",
    "received": "Noted: the packs came. They are on hand in the price book now.",
    "part_received": "Noted what came. It is on hand in the price book now; the rest is still to come.",
    "tested": "The readings were taken. What they mean follows in a moment.",
    "noted": "The leak was noted. The drawing shows it soon.",
    "wished": "It is being made.",
    "recorded": "The hours were recorded.",
    "revoked": "The key was revoked.",
    "stopped": "Planning was stopped.",
    "hook_removed": "The hook was removed.",
    "hook_told": "A test event is on its way.",
    "batch": "The batch was taken.",
    "acting": "You now work for this trade customer.",
    "model": "The model was taken. What it holds follows in a moment.",
    "logo": "The logo is on what is made from now on.",
    "no_logo": "The logo is gone; documents show the firm's name again.",
    "book": "The price book holds what the table says.",
    "levels": "Saved. The levels hold for what is planned from now on.",
    "offcut_on": "The offcut is on hand.",
    "offcut_off": "The offcut was taken off what is on hand.",
    "finished": "The job is finished: what it used is off the stock.",
    "offcuts_kept": "What the job left is on hand, and what it used was taken off.",
}
"""What a page says after something was done."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One request of somebody signed in."""

    server: Server
    session: Session
    caller: Caller
    account: tables.Account
    signed_in: SignedIn
    traceparent: str
    sessions: Sessions
    trail: list[Callable[[Response], None]] = field(default_factory=list)
    """What is still to be done to the answer."""

    def begin_again(self, *, acts_for: str) -> None:
        """Starts the session anew, for a trade customer or (with "") for the account of the key."""
        self.trail.append(
            lambda response: self.sessions.begin(
                response, self.caller.key_account_id, self.caller.key_id, acts_for
            )
        )

    @property
    def account_id(self) -> str:
        """Whose things."""
        return self.caller.account_id

    @property
    def language(self) -> str:
        """How figures are written."""
        return str(self.account.profile.get("language", "en_GB"))

    @property
    def merchant(self) -> bool:
        """Is the key a merchant's, whomever it works for?"""
        return self.account.kind == "merchant" or self.account.merchant_id == self.caller.key_account_id

    @property
    def currency(self) -> str:
        """The account's currency."""
        return currency_of(self.session, self.account_id)

    def asked(
        self, body: Any = None, *, if_match: str | None = None, query: Mapping[str, Any] | None = None
    ) -> Asked:
        """The same as an API operation sees it, so that pages and API do one thing one way."""
        return Asked(
            store=self.server.store,
            session=self.session,
            caller=self.caller,
            body=body,
            query=query or {},
            if_match=if_match,
            traceparent=self.traceparent,
        )

    def may(self, scope: Scope) -> bool:
        """May the key do that?"""
        return scope in self.caller.scopes

    def page(self, template: str, *, status: int = 200, **values: Any) -> Response:
        """A page of this account."""
        return private_page(
            template,
            status=status,
            visit=self,
            csrf=f"{self.signed_in.csrf}.{new_token()}",
            origin=request.host_url.rstrip("/"),
            said=SAID.get(request.args.get("said", ""), ""),
            **values,
        )


View = Callable[..., Response]


class Pages:
    """Routes the pages of accounts."""

    def __init__(self, app: Flask, server: Server, sessions: Sessions):
        """Routes nothing yet."""
        self.app, self.server, self.sessions = app, server, sessions

    def add(
        self,
        rule: str,
        view: View,
        *,
        scope: Scope = "read",
        read_with: Scope = "read",
        methods: Sequence[str] = ("GET",),
        most_bytes: int | None = None,
    ) -> None:
        """Routes one page; posting to it needs `scope`, looking at it `read_with`. A form may have `most_bytes`, where
        that is more than what any request may have.

        The view runs in one transaction: a reading one for GET, a writing one for POST.
        """
        self.app.add_url_rule(
            rule,
            endpoint=f"page_{view.__module__.rpartition('.')[2]}_{view.__name__}",
            view_func=self._serving(view, scope, read_with, most_bytes),
            methods=list(methods),
            provide_automatic_options=False,
        )

    def _serving(
        self, view: View, scope: Scope, read_with: Scope, most_bytes: int | None
    ) -> Callable[..., Response]:
        def serve(**path: str) -> Response:
            signed_in = self.sessions.of(request)
            if signed_in is None:
                return _to_sign_in()
            request.max_form_memory_size = _LARGEST_FORM
            if most_bytes is not None:
                request.max_content_length = most_bytes
            posting = request.method == "POST"
            try:
                self._admit(signed_in, path)
                transaction = self.server.store.writing if posting else self.server.store.reading
                with transaction() as session:
                    visit = self._visit(session, signed_in)
                    if visit is None:
                        return _to_sign_in()
                    require(visit.caller, scope if posting else read_with)
                    response = _once(visit, view, path) if posting else view(visit, **path)
                for step in visit.trail:
                    step(response)
                return response
            except Refusal as refusal:
                return _refused(
                    refusal.kind.status, refusal.kind.title, refusal.detail or advice_of(refusal.kind)
                )
            except RecordsError as error:
                return _refused_by_records(error)

        return serve

    def _admit(self, signed_in: SignedIn, path: Mapping[str, str]) -> None:
        """Raises Refusal for too many requests and forged forms, NotFound for names that cannot be any."""
        if not self.server.rates.count(signed_in.account_id).allowed:
            raise Refusal("too_many_requests")
        token = request.form.get("csrf", "").partition(".")[0] if request.method == "POST" else signed_in.csrf
        if not same(signed_in.csrf, token):
            raise Refusal(
                "bad_request",
                "The form came from another page or was too old. Open it again and send it once more.",
            )
        if not all(
            0 < len(value) <= 100 and PLAIN_NAME_CHARACTERS.issuperset(value) for value in path.values()
        ):
            raise NotFound("name")

    def _visit(self, session: Session, signed_in: SignedIn) -> Visit | None:
        """The visit, unless the key was revoked meanwhile."""
        try:
            keys = accounts.list_keys(session, signed_in.account_id)
            key = next((one for one in keys if one.id == signed_in.key_id), None)
            if key is None or not accounts.opens(session, key):
                return None
            owner = accounts.get_account(session, signed_in.account_id)
            account = owner
            if signed_in.acts_for and owner.kind == "merchant":
                account = accounts.customer_of(session, owner.id, signed_in.acts_for)
        except NotFound:
            return None
        caller = Caller(account.id, key.id, owner.id, frozenset(key.scopes), account.kind)
        return Visit(self.server, session, caller, account, signed_in, g.traceparent, self.sessions)


def _once(visit: Visit, view: View, path: Mapping[str, str]) -> Response:
    """What the view answers; a form that was sent already leads where it led the first time, and does nothing twice."""
    key = request.form.get("csrf", "").partition(".")[2]
    if not key:
        return view(visit, **path)
    scope = f"POST {request.path}"
    fields = sorted((name, value) for name, value in request.form.items(multi=True) if name != "csrf")
    fingerprint = hashlib.sha256(repr(fields).encode()).hexdigest()
    first = repeats.begin_once(visit.session, visit.account_id, scope=scope, key=key, fingerprint=fingerprint)
    if first is not None:
        return go(str(first.headers["Location"]))
    response = view(visit, **path)
    if response.status_code == 303:
        led = repeats.Answer(303, {"Location": response.headers["Location"]}, "")
        repeats.keep_answer(visit.session, visit.account_id, scope=scope, key=key, answer=led)
    else:
        repeats.forget(visit.session, visit.account_id, scope=scope, key=key)
    return response


def _to_sign_in() -> Response:
    wanted = request.full_path.rstrip("?") if request.method == "GET" else "/jobs"
    return redirect(f"/sign-in?next={quote(wanted)}", 303)  # type: ignore[return-value]


def go(address: str, said: str = "") -> Response:
    """Leads on after something was done; `said` is one of `SAID`."""
    return redirect(f"{address}{'&' if '?' in address else '?'}said={said}" if said else address, 303)  # type: ignore[return-value]


def _refused(status: int, title: str, detail: str) -> Response:
    return private_page(
        "refused.html",
        status=status,
        title=title,
        detail=detail,
        request_id=g.request_id,
        again=_page_of_form(),
        job=_job_asked_about() if status != 404 else "",
    )


def _job_asked_about() -> str:
    """The page of the job that the address names; "" for none."""
    steps = request.path.split("/")
    return "/".join(steps[:3]) if len(steps) > 3 and steps[1] == "jobs" else ""


def _page_of_form() -> str:
    """Where the form that was sent stands; "" where a page was asked for, or where none stands."""
    if request.method != "POST":
        return ""
    above = request.path.rpartition("/")[0]
    routes = current_app.url_map.bind("")
    return next((path for path in (request.path, above) if path and routes.test(path, "GET")), "")


def _refused_by_records(error: RecordsError) -> Response:
    if isinstance(error, NotFound):
        return _refused(404, "There is no such thing here", "It may have been removed, or it belongs to another account.")  # fmt: skip
    if isinstance(error, errors.Stale):
        return _refused(412, "It was changed since you opened it", "Open it again and make your change on what stands there now.")  # fmt: skip
    if isinstance(error, errors.KeyReused | errors.StillRunning):
        return _refused(409, "This form was sent already", "Open the page again to see what came of it.")
    if isinstance(error, errors.NotPossibleNow):
        return _refused(409, "That cannot be done as things stand", str(error))
    raise error
