"""The page at `/`, the API reference rendered from the OpenAPI document, and what each kind of problem means."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from flask import Flask, Response, abort, request
from jinja2 import Environment, PackageLoader, StrictUndefined

from service.api import strict_json
from service.api.problems import KINDS
from service.pages.reference import reference_of

_ASSETS = Path(__file__).parent / "assets"
_TYPES = {".css": "text/css; charset=utf-8", ".svg": "image/svg+xml"}
_PAGE_POLICY = "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def add_pages(app: Flask, document: dict[str, Any]) -> None:
    """Routes the pages, their assets and the OpenAPI document. Nobody's data is in them, so no key is needed."""
    templates = Environment(
        loader=PackageLoader("service.pages"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    files = {path.name: path.read_bytes() for path in sorted(_ASSETS.iterdir()) if path.suffix in _TYPES}
    description = strict_json.write(document).encode()
    pages = {
        "/": templates.get_template("home.html").render(),
        "/reference": templates.get_template("reference.html").render(reference=reference_of(document)),
    }

    def home() -> Response:
        return _page(pages["/"].encode(), "text/html; charset=utf-8")

    def reference() -> Response:
        return _page(pages["/reference"].encode(), "text/html; charset=utf-8")

    def openapi() -> Response:
        return _page(description, "application/json")

    def problem(code: str) -> Response:
        kind = KINDS.get(code)
        if kind is None:
            abort(404)
        return _page(
            templates.get_template("problem.html").render(kind=kind).encode(), "text/html; charset=utf-8"
        )

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


def _page(body: bytes, media_type: str) -> Response:
    response = Response(body, content_type=media_type)
    response.headers["Content-Security-Policy"] = _PAGE_POLICY
    response.headers["Cache-Control"] = "public, no-cache"
    response.set_etag(hashlib.sha256(body).hexdigest()[:32])
    return response.make_conditional(request)  # type: ignore[return-value]
