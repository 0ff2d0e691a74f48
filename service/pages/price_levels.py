"""A merchant's price levels: each with its change of the book's prices, and who buys at which."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.price_levels import PriceLevels
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages.forms import Form, Tree, hundredths, tree, typed, without_sign, written
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go
from service.records import accounts

_MOST_CUSTOMERS = 5000
_NEW: dict[str, Tree] = {
    "levels": {"code": "", "name": "", "change": ""},
    "customers": {"account": "", "level": ""},
}


def add_price_levels(pages: Pages) -> None:
    """Routes the page."""
    pages.add("/price-book/levels", levels, scope="admin", read_with="read", methods=("GET", "POST"))


def levels(visit: Visit) -> Response:
    """The levels, and every change of them."""
    answer = ask(visit, "read_price_levels")
    if request.method == "GET":
        return _shown(visit, Form(_form_of(answer.body)), str(answer.etag))
    form = tree({name: request.form.getlist(name)[-1] for name in request.form})
    etag = request.form.get("etag", "")
    action = request.form.get("do", "save")
    if action != "save":
        opened = _act(form, action)
        fragment = request.headers.get("X-Part") == "form"
        return _shown(visit, Form(form, opened=(opened,)), etag, fragment=fragment)
    asked = Form(form)
    unclear = without_sign(asked, [f"/levels/{row}/change" for row in asked.rows("/levels")])
    if unclear:
        return _shown(visit, Form(form, unclear), etag, status=422)
    data = typed(PriceLevels, form)
    data["others"] = data.get("others") or None
    try:
        ask(visit, "replace_price_levels", body=loaded(PriceLevels, data), if_match=f'"{etag}"')
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _shown(visit, Form(form, refusal.faults), etag, status=422)
    return go("/price-book/levels", "levels")


def _form_of(body: dict[str, Any]) -> Tree:
    """Changes as people write them: -8 % for -0.08."""
    rows = [{**level, "change": hundredths(level["change"])} for level in body["levels"]]
    return {"levels": rows, "customers": list(body["customers"]), "others": written(body["others"])}


def _act(form: Tree, action: str) -> str:
    """Adds or takes away a row; gives its pointer. Unknown actions change nothing."""
    verb, _, pointer = action.partition(":")
    name, _, place = pointer.strip("/").partition("/")
    if name not in _NEW:
        return ""
    rows = form[name] if isinstance(form.get(name), list) else []
    form[name] = rows
    if verb == "add":
        rows.append(dict(_NEW[name]))
        return f"/{name}/{len(rows) - 1}"
    if verb == "remove" and place.isdecimal() and int(place) < len(rows):
        del rows[int(place)]
    return ""


def _shown(visit: Visit, form: Form, etag: str, *, status: int = 200, fragment: bool = False) -> Response:
    customers = accounts.list_customers(visit.session, visit.account_id, limit=_MOST_CUSTOMERS)
    codes = [form.value(f"/levels/{row}/code") for row in form.rows("/levels")]
    names = [form.value(f"/levels/{row}/name") for row in form.rows("/levels")]
    return visit.page(
        "price_levels_form.html" if fragment else "price_levels.html", status=status, title="Price levels",
        part="/price-book", form=form, etag=etag,
        customers=[(one.id, one.profile["name"]) for one in customers],
        codes=[(code, name or code) for code, name in zip(codes, names, strict=True) if code],
    )  # fmt: skip
