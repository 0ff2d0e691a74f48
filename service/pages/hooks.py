"""Hooks: which addresses are told of events, how it went, and new ones."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.hook import EVENTS, NewHook
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages.forms import Form, tree, typed
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go
from service.records import hooks

_MOST_SHOWN = 20
_EVENT_WORDS = {
    "plan.ready": "a plan is ready", "plan.failed": "a plan could not be made", "quote.issued": "a quote was issued",
    "quote.accepted": "a customer accepted a quote", "quote.declined": "a customer declined a quote",
    "document.ready": "a document is ready", "batch.finished": "a batch has ended", "hook.test": "you send a test event",
}  # fmt: skip


def add_hooks(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/account/hooks", hook_list, scope="admin", methods=("GET", "POST"))
    pages.add("/account/hooks/<hook>", change, scope="admin", methods=("POST",))


def hook_list(visit: Visit) -> Response:
    """Every hook with what it was told last; a new one's secret is shown here, once."""
    if request.method == "GET":
        return _shown(visit, Form({}))
    form = tree(dict(request.form))
    wish = {**typed(NewHook, form), "events": [event for event in EVENTS if f"/tell/{event}" in request.form]}
    try:
        made = ask(visit, "set_up_hook", body=loaded(NewHook, wish)).body
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _shown(visit, Form(form, refusal.faults), status=422)
    return _shown(visit, Form({}), made=made)


def change(visit: Visit, hook: str) -> Response:
    """Sends a test event, pauses or goes on, changes the secret, or removes the hook."""
    answer = ask(visit, "read_hook", hook)
    etag, wanted = f'"{answer.etag}"', request.form.get("do", "")
    if wanted == "test":
        ask(visit, "test_hook", hook)
        return go("/account/hooks", "hook_told")
    if wanted in ("pause", "go-on"):
        ask(visit, "change_hook", hook, body={"active": wanted == "go-on"}, if_match=etag)
        return go("/account/hooks", "saved")
    if wanted == "rotate":
        return _shown(visit, Form({}), made=ask(visit, "rotate_hook", hook).body)
    if wanted == "remove":
        ask(visit, "remove_hook", hook, if_match=etag)
        return go("/account/hooks", "hook_removed")
    raise Refusal("bad_request")


def _shown(visit: Visit, form: Form, *, made: dict[str, Any] | None = None, status: int = 200) -> Response:
    rows = hooks.list_hooks(visit.session, visit.account_id)
    told = {
        row.id: hooks.list_deliveries(visit.session, visit.account_id, row.id, limit=_MOST_SHOWN)
        for row in rows
    }
    return visit.page(
        "hooks.html",
        status=status,
        title="Hooks",
        part="/account",
        form=form,
        hooks=rows,
        told=told,
        events=[(event, _EVENT_WORDS.get(event, event)) for event in EVENTS],
        made=made,
    )
