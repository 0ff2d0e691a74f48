"""Offcuts on hand: what is there, one added by hand or taken off, and where each came from and went."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api_schema.offcut import OffcutCount
from api_schema.price_book import Offcut
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages.forms import Form, tree, typed
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go
from service.records.own_values import get_value

_PAGE = 30


def add_offcuts(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/offcuts", offcuts, scope="write", methods=("GET", "POST"))
    pages.add("/offcuts/off", note_off, scope="write", methods=("POST",))


def offcuts(visit: Visit) -> Response:
    """What is on hand, and the ledger; posting writes further ones on hand."""
    if request.method == "GET":
        return _shown(visit, Form({}))
    form = tree({name: request.form[name] for name in request.form})
    try:
        wish = loaded(Offcut, typed(Offcut, form))
        _count(visit, wish, wish.count)
    except Refusal as refusal:
        return _shown(visit, Form(form, refusal.faults), status=422)
    return go("/offcuts", "offcut_on")


def note_off(visit: Visit) -> Response:
    """One of a size is gone: used on site, or thrown away."""
    form = tree({name: request.form[name] for name in request.form})
    _count(visit, loaded(Offcut, typed(Offcut, form)), -1)
    return go("/offcuts", "offcut_off")


def _count(visit: Visit, offcut: Offcut, by: int) -> None:
    body = OffcutCount(offcut.product, offcut.length_mm, offcut.width_mm, by)
    ask(visit, "count_offcuts", body=body)


def _membranes(visit: Visit) -> list[dict[str, Any]]:
    book = get_value(visit.session, visit.account_id, "price_book").body
    return [product for product in book["products"] if product["kind"] == "membrane"]


def _shown(visit: Visit, form: Form, *, status: int = 200) -> Response:
    book = get_value(visit.session, visit.account_id, "price_book").body
    ledger = ask(visit, "list_offcuts", query={"limit": _PAGE, "cursor": request.args.get("cursor")}).body
    membranes = _membranes(visit)
    return visit.page(
        "offcuts.html", status=status, title="Offcuts", part="/price-book", form=form, membranes=membranes,
        choices=[(product["code"], product["name"]) for product in membranes],
        names={product["code"]: product["name"] for product in book["products"]},
        on_hand=sorted(book["offcuts"], key=lambda one: (one["product"], -one["width_mm"], -one["length_mm"])),
        items=ledger["items"], following=ledger.get("next"),
    )  # fmt: skip
