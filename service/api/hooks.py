"""Hooks: addresses of the account's that are told of events, and what they were told."""

from __future__ import annotations

from typing import Any

from flask import current_app
from marshmallow import ValidationError

from api_schema.fields import choice
from api_schema.hook import NewHook, hook_url
from api_schema.hook_more import DELIVERY_STATES, Delivery, HookAttempt, HookWithSecret, StoredHook
from api_schema.problem import Fault
from api_schema.shape import dump, load
from service.api.editing import check_match, etag_of, loaded, merge_patch
from service.api.links import address
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import PAGE_PARAMETERS, page_of, whole_list
from service.api.problems import bad_input
from service.records import hooks as records
from service.records import tables
from service.records.ids import new_hook_secret

ALLOWED = "HOOKS_ALLOWED"
"""Where the application keeps the networks that may be told though they are not public."""
SEALER = "SEALER"
"""Where it keeps what seals secrets (`service.records.sealing.Sealer`)."""

hooks = Resource(
    "hooks",
    "Hooks",
    "Addresses of yours that are told of events: a CloudEvents 1.0 body in JSON, signed after Standard Webhooks 1.0.0 "
    "(`webhook-id`, `webhook-timestamp`, `webhook-signature`). Take it with any 2xx within 15 seconds; anything else, "
    "a redirect too, is tried again after 5 s, 5 min, 30 min, 2 h, 5 h, 10 h and 6 h, or later where `Retry-After` "
    "asks for it, and given up after 24 h. 410 stops the hook, and so does giving up five events in a row: `stopped_because` says why, "
    "the audit trail has it as `hook.stopped`, and setting `active` to true starts it again. An event may come twice and out of order: go by "
    "`webhook-id`, and read the thing again for how it stands.",
)


def _shown(row: tables.Hook) -> dict[str, Any]:
    here = address(f"/v1/hooks/{row.id}")
    return dump(
        StoredHook(
            id=row.id,
            url=row.url,
            events=tuple(row.events),
            active=row.active,
            note=row.note,
            created_at=row.created_at,
            old_secret_until=row.old_secret_until,
            stopped_because=row.stopped_because,
            links={"self": here, "deliveries": f"{here}/deliveries"},
        )
    )


def _etag(row: tables.Hook) -> str:
    return etag_of("hook", row.id, row.version)


def _checked(hook: NewHook) -> NewHook:
    try:
        hook_url(hook.url, current_app.config[ALLOWED])
    except ValidationError as error:
        raise bad_input(tuple(Fault("/url", str(message)) for message in error.messages)) from None
    return hook


@hooks.operation(
    "POST",
    "/v1/hooks",
    "Set up a hook",
    scope="admin",
    takes=NewHook,
    example={"url": "https://jobs.example.com/lapwise", "events": ["plan.ready", "plan.failed"]},
    gives={201: HookWithSecret},
    may_answer=(409,),
    etag=True,
)
def set_up_hook(asked: Asked) -> Answer:
    """Sets up an address to be told of events, and shows the secret its messages are signed with, this once.

    The address must be https on port 443 of the public internet. What its name leads to is judged again with every
    message, and redirects are not followed.
    """
    wish = _checked(asked.body)
    secret = new_hook_secret()
    row = records.create_hook(
        asked.session,
        asked.caller.account_id,
        url=wish.url,
        events=list(wish.events),
        active=wish.active,
        note=wish.note,
        secret=current_app.config[SEALER].seal(secret),
    )
    note(asked, "hook.set_up", row.id)
    return _with_secret(row, secret, status=201)


def _with_secret(row: tables.Hook, secret: str, *, status: int) -> Answer:
    shown = _shown(row)
    return Answer(
        {**shown, "secret": secret}, status=status, etag=_etag(row), kept_body={**shown, "secret": None}
    )


@hooks.operation("GET", "/v1/hooks", "List the hooks", scope="read", gives={200: ListOf(StoredHook)})
def list_hooks(asked: Asked) -> Answer:
    """Lists every hook, oldest first, without secrets."""
    return whole_list(records.list_hooks(asked.session, asked.caller.account_id), _shown)


@hooks.operation(
    "GET", "/v1/hooks/{hook}", "Read a hook", scope="read", gives={200: StoredHook}, may_answer=(404,), etag=True
)  # fmt: skip
def read_hook(asked: Asked, hook: str) -> Answer:
    """Gives a hook without its secret."""
    row = records.get_hook(asked.session, asked.caller.account_id, hook)
    return Answer(_shown(row), etag=_etag(row))


@hooks.operation(
    "PATCH",
    "/v1/hooks/{hook}",
    "Change a hook",
    scope="admin",
    takes=NewHook,
    example={"active": False},
    gives={200: StoredHook},
    may_answer=(404,),
    edits=True,
    etag=True,
)
def change_hook(asked: Asked, hook: str) -> Answer:
    """Changes what you name and leaves the rest. A hook that is not active is told nothing new; what waits for it is
    sent once it is active again, within its 24 hours."""
    row = records.get_hook(asked.session, asked.caller.account_id, hook)
    check_match(asked.if_match, _etag(row))
    stands = {"url": row.url, "events": row.events, "active": row.active, "note": row.note}
    wish = _checked(loaded(NewHook, merge_patch(stands, asked.body)))
    row = records.change_hook(
        asked.session,
        asked.caller.account_id,
        hook,
        if_version=row.version,
        url=wish.url,
        events=list(wish.events),
        active=wish.active,
        note=wish.note,
    )
    note(asked, "hook.changed", hook)
    return Answer(_shown(row), etag=_etag(row))


@hooks.operation(
    "DELETE",
    "/v1/hooks/{hook}",
    "Remove a hook",
    scope="admin",
    gives={204: None},
    may_answer=(404,),
    edits=True,
)
def remove_hook(asked: Asked, hook: str) -> Answer:
    """Removes a hook and the record of what it was told."""
    row = records.get_hook(asked.session, asked.caller.account_id, hook)
    check_match(asked.if_match, _etag(row))
    records.delete_hook(asked.session, asked.caller.account_id, hook, if_version=row.version)
    note(asked, "hook.removed", hook)
    return Answer(status=204)


@hooks.operation(
    "POST",
    "/v1/hooks/{hook}/rotate",
    "Change a hook's secret",
    scope="admin",
    gives={200: HookWithSecret},
    may_answer=(404,),
    etag=True,
)
def rotate_hook(asked: Asked, hook: str) -> Answer:
    """Makes a new secret and shows it, this once. For 24 hours the one before signs beside it, so that you can change
    over without losing a message: the signature header then holds both, separated by a space."""
    secret = new_hook_secret()
    sealed = current_app.config[SEALER].seal(secret)
    row = records.rotate_secret(asked.session, asked.caller.account_id, hook, secret=sealed)
    note(asked, "hook.rotated", hook)
    return _with_secret(row, secret, status=200)


@hooks.operation(
    "POST",
    "/v1/hooks/{hook}/test",
    "Send a test event",
    scope="write",
    gives={202: Delivery},
    may_answer=(404, 409),
)
def test_hook(asked: Asked, hook: str) -> Answer:
    """Tells this hook alone a `hook.test` event, whatever events it wants; read the delivery for how it went."""
    return _accepted(records.test_hook(asked.session, asked.caller.account_id, hook))


def _delivery(row: tables.HookDelivery) -> dict[str, Any]:
    hook = address(f"/v1/hooks/{row.hook_id}")
    return dump(
        Delivery(
            id=row.id,
            hook=row.hook_id,
            event_id=row.event_id,
            event=row.event,
            subject=row.subject,
            state=row.state,  # type: ignore[arg-type]
            attempts=row.attempt,
            next_at=row.next_at if row.state == "waiting" else None,
            created_at=row.created_at,
            ended_at=row.ended_at,
            log=tuple(load(HookAttempt, entry) for entry in row.log),
            links={"self": f"{hook}/deliveries/{row.id}", "hook": hook},
        )
    )


def _accepted(row: tables.HookDelivery) -> Answer:
    return Answer(
        _delivery(row),
        status=202,
        headers={"Location": address(f"/v1/hooks/{row.hook_id}/deliveries/{row.id}"), "Retry-After": "1"},
    )


@hooks.operation(
    "GET",
    "/v1/hooks/{hook}/deliveries",
    "List what a hook was told",
    scope="read",
    gives={200: ListOf(Delivery)},
    query={**PAGE_PARAMETERS, "state": choice("Only deliveries in this state.", DELIVERY_STATES)},
    may_answer=(404,),
)
def list_deliveries(asked: Asked, hook: str) -> Answer:
    """Lists what a hook was told or will be, newest first, with every attempt. Kept for 30 days."""
    return page_of(
        asked.query,
        lambda limit, after: records.list_deliveries(
            asked.session,
            asked.caller.account_id,
            hook,
            limit=limit,
            after=after,
            state=asked.query.get("state"),
        ),
        _delivery,
    )


@hooks.operation(
    "GET",
    "/v1/hooks/{hook}/deliveries/{delivery}",
    "Read a delivery",
    scope="read",
    gives={200: Delivery},
    may_answer=(404,),
)
def read_delivery(asked: Asked, hook: str, delivery: str) -> Answer:
    """Gives one delivery with its attempts."""
    return Answer(_delivery(records.get_delivery(asked.session, asked.caller.account_id, hook, delivery)))


@hooks.operation(
    "POST",
    "/v1/hooks/{hook}/deliveries/{delivery}/replay",
    "Tell it again",
    scope="write",
    gives={202: Delivery},
    may_answer=(404, 409),
)
def replay_delivery(asked: Asked, hook: str, delivery: str) -> Answer:
    """Sends a delivery once more, at once and with 24 hours of attempts ahead, under the same event id."""
    return _accepted(records.replay(asked.session, asked.caller.account_id, hook, delivery))
