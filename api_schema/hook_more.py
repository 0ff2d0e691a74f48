"""A hook as it is kept, and what it was told."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, many, moment, table, text, whole
from api_schema.hook import EVENTS, NewHook

DeliveryState = Literal["waiting", "sending", "delivered", "given_up"]
DELIVERY_STATES: tuple[DeliveryState, ...] = ("waiting", "sending", "delivered", "given_up")

_HOOK = text("Public name of the hook.", example="hook_4Zk0c7tQm2")
_LINKS = table(
    text("An address.", example="/v1/hooks/hook_4Zk0c7tQm2", longest=400),
    "Where to go from here.",
    example={"self": "/v1/hooks/hook_4Zk0c7tQm2"},
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredHook(NewHook):
    """A hook of the account's."""

    id: Annotated[str, _HOOK]
    created_at: Annotated[datetime.datetime, moment("When it was set up.")]
    old_secret_until: Annotated[
        datetime.datetime | None,
        moment("Until when the secret before the present one signs too; null where none does."),
    ]
    stopped_because: Annotated[
        str | None, text("Why we stopped telling it; null where we did not.", example="It answered 410 Gone.")
    ]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class HookWithSecret(StoredHook):
    """A hook with the secret its messages are signed with."""

    secret: Annotated[
        str | None,
        text(
            "Check signatures with it (Standard Webhooks, v1). It is shown in this one answer; a repeat of the "
            "request with the same Idempotency-Key gives null.",
            example="whsec_…",
        ),
    ]


@dataclass(frozen=True, slots=True)
class HookAttempt:
    """One attempt to tell a hook something."""

    at: Annotated[datetime.datetime, moment("When it ended.")]
    attempt: Annotated[int, whole("Counted from 1.", example=1)]
    status: Annotated[
        int | None, whole("The HTTP status answered; null where nothing answered.", example=200, maximum=999)
    ]
    failure: Annotated[str, text("Why it was not taken; empty where it was.", example="", longest=300)]
    answer: Annotated[str, text("How the answer began.", example="ok", longest=1000)]
    took_ms: Annotated[int, whole("How long it took.", example=84, unit="ms")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """One event told to one hook."""

    id: Annotated[str, text("Public name of the delivery.", example="dly_4Zk0c7tQm2")]
    hook: Annotated[str, _HOOK]
    event_id: Annotated[
        str,
        text(
            "The event's own name, sent as `webhook-id` and as the CloudEvents `id`; the same for every attempt, "
            "replay and hook. Use it to recognise what you have had.",
            example="evt_4Zk0c7tQm2",
        ),
    ]
    event: Annotated[str, choice("What happened.", EVENTS)]
    subject: Annotated[
        str, text("Address of what it is about.", example="/v1/jobs/job_4Zk0c7tQm2/plan", longest=400)
    ]
    state: Annotated[DeliveryState, choice("How far it is.", DELIVERY_STATES, example="delivered")]
    attempts: Annotated[int, whole("How often it was sent.", example=1)]
    next_at: Annotated[
        datetime.datetime | None, moment("When it is sent next, at the earliest; null once it has ended.")
    ]
    created_at: Annotated[datetime.datetime, moment("When it happened.")]
    ended_at: Annotated[datetime.datetime | None, moment("When it was taken or given up; null until then.")]
    log: Annotated[tuple[HookAttempt, ...], many(HookAttempt, "The latest attempts, oldest first.")]
    links: Annotated[Mapping[str, str], _LINKS]
