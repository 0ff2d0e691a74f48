"""The page at `/`, the API reference rendered from the OpenAPI document, what each kind of problem means, and assets."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from flask import Flask, Response, abort

from service.api import strict_json
from service.api.problems import KINDS
from service.pages.html import public_page, rendered
from service.pages.reference import reference_of

_ASSETS = Path(__file__).parent / "assets"
_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}
_FONTS_KEPT_S = 30 * 24 * 3600


def add_open_pages(app: Flask, document: Callable[[], dict[str, Any]]) -> None:
    """Routes the pages, their assets and the OpenAPI document. Nobody's data is in them, so no key is needed.

    `document` is asked when somebody first wants it, so that a web process starts at once.
    """
    files = {path.name: path.read_bytes() for path in sorted(_ASSETS.iterdir()) if path.suffix in _TYPES}

    @cache
    def described() -> bytes:
        return strict_json.write(document()).encode()

    @cache
    def referenced() -> bytes:
        return rendered("reference.html", reference=reference_of(document()))

    def home() -> Response:
        return public_page(rendered("home.html"))

    def reference() -> Response:
        return public_page(referenced())

    def openapi() -> Response:
        return public_page(described(), "application/json")

    def problem(code: str) -> Response:
        kind = KINDS.get(code)
        if kind is None:
            abort(404)
        return public_page(rendered("problem.html", kind=kind))

    def asset(name: str) -> Response:
        if name not in files:
            abort(404)
        suffix = Path(name).suffix
        return public_page(files[name], _TYPES[suffix], kept_s=_FONTS_KEPT_S if suffix == ".woff2" else 0)

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
