"""The application factory of the web process."""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from functools import cache, partial
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import structlog
from flask import Flask, Response, g, request
from flask.json.provider import DefaultJSONProvider
from sqlalchemy.exc import OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from werkzeug.exceptions import HTTPException

from service.api.all import RESOURCES
from service.api.health import Metrics, add_health
from service.api.hooks import ALLOWED as HOOKS_ALLOWED
from service.api.hooks import SEALER
from service.api.openapi import document_of
from service.api.problems import KINDS, Refusal, kind_of_status, problem_answer
from service.api.rates import Rates
from service.api.serving import MOST_WAITING, MadeName, Server, add_operation
from service.api.tracing import request_id_from, traceparent_from
from service.pages.all import add_pages
from service.pages.refusals import refusal_page, wants_a_page
from service.records import errors
from service.records.store import Store
from service.secrets_key import sealer_of
from service.settings import Settings, from_environment

_log = structlog.get_logger(__name__)
_SECURITY_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
}


class _StrictJson(DefaultJSONProvider):
    """So that nothing of Flask's own can write NaN."""

    def dumps(self, obj: object, **kwargs: object) -> str:
        return super().dumps(obj, allow_nan=False, **kwargs)


def create_app(settings: Settings | None = None, store: Store | None = None) -> Flask:
    """The web application.

    Args:
        settings: from the environment where not given.
        store: the database; opened by the settings where not given. Each process needs its own.
    """
    settings = settings or from_environment()
    store = store or Store(settings.database_url)
    app = Flask("lapwise", static_folder=None)
    app.json = _StrictJson(app)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_request_bytes
    app.config["PUBLIC_URL"] = settings.public_url.rstrip("/")
    app.config[HOOKS_ALLOWED] = settings.hook_networks
    app.config[SEALER] = sealer_of(settings)
    app.url_map.strict_slashes = False
    app.url_map.merge_slashes = False
    app.url_map.converters["made"] = MadeName
    metrics = Metrics(store)
    server = Server(
        store=store,
        rates=Rates(settings.limits_url, per_minute=settings.requests_per_minute),
        waiting=threading.BoundedSemaphore(MOST_WAITING),
    )
    for resource in RESOURCES:
        for operation in resource.operations:
            add_operation(app, server, operation)
    add_health(app, store, settings, metrics)
    add_pages(app, server, settings, partial(_document, app.config["PUBLIC_URL"]))
    _add_headers(app, metrics)
    _add_refusals(app)
    app.extensions["lapwise_store"] = store
    return app


def _add_headers(app: Flask, metrics: Metrics) -> None:
    @app.before_request
    def begin() -> None:
        g.began = time.perf_counter()
        g.request_id = request_id_from(request.headers.get("X-Request-Id"))
        g.traceparent = traceparent_from(request.headers.get("traceparent"))
        structlog.contextvars.clear_contextvars()
        structlog.contextvars.bind_contextvars(request_id=g.request_id, traceparent=g.traceparent)

    @app.after_request
    def finish(response: Response) -> Response:
        for name, value in {
            **_SECURITY_HEADERS,
            "Cache-Control": "no-store",
            **g.get("extra_headers", {}),
        }.items():
            response.headers.setdefault(name, value)
        response.headers["X-Request-Id"] = g.request_id
        response.headers["traceparent"] = g.traceparent
        took_s = time.perf_counter() - g.began
        operation = request.endpoint or "none"
        metrics.requests.labels(
            operation, request.method if request.endpoint else "any", response.status_code
        ).inc()
        metrics.seconds.labels(operation).observe(took_s)
        _log.info("answered", operation=operation, status=response.status_code, took_s=round(took_s, 4))
        return response


def _add_refusals(app: Flask) -> None:
    def refused(error: Refusal) -> Response:
        if not wants_a_page():
            return error.answer()
        return _with(refusal_page(error.kind, error.detail), error.headers)

    def refused_by_records(error: errors.RecordsError) -> Response:
        return refused(_refusal_of(error))

    def refused_by_framework(error: HTTPException) -> Response:
        if error.response is not None and error.code is not None and error.code < 400:
            return error.response  # type: ignore[return-value] # a redirect
        kind = kind_of_status(error.code or 500)
        headers = {name: value for name, value in error.get_headers() if name in ("Allow", "Retry-After")}
        if wants_a_page():
            return _with(refusal_page(kind, ""), headers)
        return problem_answer(kind, "", headers=headers)

    def database_away(error: Exception) -> Response:
        _log.warning("database not to be had", error=type(error).__name__)
        return refused(Refusal("busy", headers={"Retry-After": "2"}))

    def our_fault(error: Exception) -> Response:
        _log.error("request failed", exc_info=error)
        if wants_a_page():
            return refusal_page(KINDS["our_fault"], "")
        return problem_answer(KINDS["our_fault"], "")

    app.register_error_handler(Refusal, refused)
    app.register_error_handler(errors.RecordsError, refused_by_records)
    app.register_error_handler(HTTPException, refused_by_framework)
    app.register_error_handler(OperationalError, database_away)
    app.register_error_handler(PoolTimeout, database_away)
    app.register_error_handler(Exception, our_fault)


def _with(response: Response, headers: Mapping[str, str]) -> Response:
    for name, value in headers.items():
        response.headers[name] = value
    return response


def _refusal_of(error: errors.RecordsError) -> Refusal:
    if isinstance(error, errors.NotFound):
        return Refusal("not_found")
    if isinstance(error, errors.Stale):
        return Refusal("changed_meanwhile")
    if isinstance(error, errors.KeyReused):
        return Refusal("key_reused")
    if isinstance(error, errors.StillRunning):
        return Refusal("still_running", headers={"Retry-After": "1"})
    if isinstance(error, errors.NotPossibleNow):
        headers = {"Retry-After": "1"} if error.code == "plan_not_ready" else {}
        return Refusal(error.code, str(error), headers=headers)
    raise error


@cache
def _document(public_url: str) -> dict[str, Any]:
    return document_of(RESOURCES, version=_version(), public_url=public_url)


def _version() -> str:
    try:
        return version("lapwise")
    except PackageNotFoundError:
        return "0.0.0"
