"""Everything around an operation, in one order for all: key, rate, body, transaction, repeat, answer, headers."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from flask import Flask, Response, g, request
from werkzeug.routing import BaseConverter

from service.api import repeats, strict_json
from service.api.caller import Caller, caller_of_request, require
from service.api.operation import MADE_NAME, Answer, Asked, Operation
from service.api.problems import Refusal
from service.api.rates import Rates
from service.api.reading import body_of, query_of, raw_body, wait_of_request
from service.records import repeats as kept_answers
from service.records.errors import NotFound
from service.records.store import Store

PLAIN_NAME_CHARACTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-")
MOST_WAITING = 8
"""Threads of a process (16 by default) that Prefer: wait may hold; beyond it nobody is held."""


@dataclass(frozen=True, slots=True)
class Server:
    """What serving an operation needs."""

    store: Store
    rates: Rates
    waiting: threading.BoundedSemaphore


@dataclass(frozen=True, slots=True)
class _Sent:
    """A request that was admitted and read."""

    caller: Caller
    body: Any
    query: Mapping[str, Any]
    path: Mapping[str, str]
    fingerprint: str


class MadeName(BaseConverter):
    """A public name in a path."""

    regex = MADE_NAME


def add_operation(app: Flask, server: Server, operation: Operation) -> None:
    """Routes one operation."""
    app.add_url_rule(
        operation.rule,
        endpoint=operation.name,
        view_func=_serving(server, operation),
        methods=[operation.method],
        provide_automatic_options=False,
    )


def _serving(server: Server, operation: Operation) -> Callable[..., Response]:
    def serve(**path: str) -> Response:
        caller = _admitted(server, operation)
        for value in path.values():
            if not 0 < len(value) <= 100 or not PLAIN_NAME_CHARACTERS.issuperset(value):
                raise NotFound("name")
        if operation.edits and "If-Match" not in request.headers:
            raise Refusal("if_match_missing")
        query = query_of(operation)
        if operation.most_bytes is not None:
            request.max_content_length = operation.most_bytes
        raw = raw_body() if operation.writes else b""
        body = body_of(operation, raw) if operation.writes else None
        answer, replayed = _done(
            server, operation, _Sent(caller, body, query, path, repeats.fingerprint(raw))
        )
        response = _response(answer)
        if replayed:
            response.headers["Idempotency-Replayed"] = "true"
        return response

    return serve


def _admitted(server: Server, operation: Operation) -> Caller:
    """The caller, once key, rate and scope are in order."""
    try:
        caller = caller_of_request(server.store)
    except Refusal as refusal:
        if refusal.kind.status == 401:  # guessing keys is counted by address
            _count(server, f"address {request.remote_addr}")
        raise
    _count(server, caller.key_account_id)
    if operation.scope is not None:
        require(caller, operation.scope)
    return caller


def _count(server: Server, who: str) -> None:
    standing = server.rates.count(who)
    g.extra_headers = {**g.get("extra_headers", {}), **standing.headers}
    if not standing.allowed:
        raise Refusal("too_many_requests")


def _done(server: Server, operation: Operation, sent: _Sent) -> tuple[Answer, bool]:
    """The answer, and whether it is the answer to an earlier request."""
    key = repeats.key_of_request() if operation.method == "POST" else None
    scope = f"{operation.method} {operation.path}"
    account_id = sent.caller.account_id
    transaction = server.store.writing if operation.writes else server.store.reading
    with transaction() as session:
        if key is not None:
            first = kept_answers.begin_once(
                session, account_id, scope=scope, key=key, fingerprint=sent.fingerprint
            )
            if first is not None:
                return _again(first), True
        asked = Asked(
            store=server.store,
            session=session,
            caller=sent.caller,
            body=sent.body,
            query=sent.query,
            if_match=request.headers.get("If-Match"),
            traceparent=g.traceparent,
        )
        answer: Answer = operation.view(asked, **sent.path)
        if key is not None:
            kept_answers.keep_answer(session, account_id, scope=scope, key=key, answer=_to_keep(answer))
    return _waited(server, operation, answer), False


def _to_keep(answer: Answer) -> kept_answers.Answer:
    headers = dict(answer.headers)
    if answer.etag is not None:
        headers["ETag"] = answer.etag
    body = answer.body if answer.kept_body is None else answer.kept_body
    return kept_answers.Answer(answer.status, headers, "" if body is None else strict_json.write(body))


def _again(first: kept_answers.Answer) -> Answer:
    headers = dict(first.headers)
    etag = headers.pop("ETag", None)
    body = strict_json.read(first.body.encode()) if first.body else None
    return Answer(body, status=first.status, etag=etag, headers=headers)


def _waited(server: Server, operation: Operation, answer: Answer) -> Answer:
    seconds = wait_of_request() if operation.waits else None
    if not seconds or answer.wait is None or not server.waiting.acquire(blocking=False):
        return answer
    try:
        fuller = answer.wait(seconds)
    finally:
        server.waiting.release()
    g.extra_headers = {**g.get("extra_headers", {}), "Preference-Applied": f"wait={seconds}"}
    return fuller


def _response(answer: Answer) -> Response:
    looking = request.method in ("GET", "HEAD") and answer.etag is not None
    if looking and request.if_none_match.contains_weak(answer.etag or ""):
        response = Response(status=304)
        response.headers.pop("Content-Type", None)
    elif answer.body is None:
        response = Response(status=answer.status)
        response.headers.pop("Content-Type", None)
    elif isinstance(answer.body, bytes | Iterator):
        response = Response(answer.body, status=answer.status, content_type=answer.media_type)
    else:
        response = Response(
            strict_json.write(answer.body), status=answer.status, content_type="application/json"
        )
    _add_headers(response, answer)
    return response


def _add_headers(response: Response, answer: Answer) -> None:
    response.headers["Vary"] = "Authorization, Act-For, Prefer"
    for name, value in answer.headers.items():
        response.headers[name] = value
    if answer.etag is not None:
        response.headers["ETag"] = f'"{answer.etag}"'
    if answer.cache is not None:
        response.headers["Cache-Control"] = answer.cache
    elif answer.etag is not None:
        response.headers["Cache-Control"] = "private, no-cache"
