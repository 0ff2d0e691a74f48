"""The page at `/`, the API reference rendered from the OpenAPI document, and what each kind of problem means."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from flask import Flask, Response, abort, request
from jinja2 import Environment, PackageLoader, StrictUndefined

from service.api import strict_json
from service.api.problems import KINDS
from service.pages.reference import reference_of

_ASSETS = Path(__file__).parent / "assets"
_HTML = "text/html; charset=utf-8"
_TYPES = {".css": "text/css; charset=utf-8", ".svg": "image/svg+xml"}
_PAGE_POLICY = "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def add_pages(app: Flask, document: Callable[[], dict[str, Any]]) -> None:
    """Routes the pages, their assets and the OpenAPI document. Nobody's data is in them, so no key is needed.

    `document` is asked when somebody first wants it, so that a web process starts at once.
    """
    files = {path.name: path.read_bytes() for path in sorted(_ASSETS.iterdir()) if path.suffix in _TYPES}

    @cache
    def described() -> bytes:
        return strict_json.write(document()).encode()

    @cache
    def referenced() -> bytes:
        return _rendered("reference.html", reference=reference_of(document()))

    def home() -> Response:
        return _page(_rendered("home.html"), _HTML)

    def reference() -> Response:
        return _page(referenced(), _HTML)

    def openapi() -> Response:
        return _page(described(), "application/json")

    def problem(code: str) -> Response:
        kind = KINDS.get(code)
        if kind is None:
            abort(404)
        return _page(_rendered("problem.html", kind=kind), _HTML)

    def asset(name: str) -> Response:
        if name not in files:
            abort(404)
        return _page(files[name], _TYPES[Path(name).suffix])

    for rule, view in (
        ("/", home),
        ("/reference", reference),
        ("/v1/openapi.json", openapi),
        ("/problems/<code>", problem),
        ("/assets/<name>", asset),
    ):
        app.add_url_rule(
            rule, endpoint=f"page_{view.__name__}", view_func=view, provide_automatic_options=False
        )


def _rendered(template: str, **values: Any) -> bytes:
    return _templates().get_template(template).render(**values).encode()


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("service.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _page(body: bytes, media_type: str) -> Response:
    response = Response(body, content_type=media_type)
    response.headers["Content-Security-Policy"] = _PAGE_POLICY
    response.headers["Cache-Control"] = "public, no-cache"
    response.set_etag(hashlib.sha256(body).hexdigest()[:32])
    return response.make_conditional(request)  # type: ignore[return-value]
