"""Orders of a job: what to buy, from whom, in which packs."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from flask import Response, request

from api_schema.order_wish import OrderWish, Receipt
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages.forms import Form, tree, typed
from service.pages.jobs import head_of
from service.pages.operations import ask
from service.pages.papers import papers_of
from service.pages.serving import Pages, Visit, go
from service.records import orders, quotes, tables
from service.records.errors import NotPossibleNow
from service.records.ordered import holds, orders_of_plan
from service.records.own_values import get_snapshot
from service.records.receipts import to_come


def add_orders(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/<job>/order", order_page)
    pages.add("/jobs/<job>/order/make", make, scope="write", methods=("POST",))
    pages.add("/orders/<order>/move", move, scope="write", methods=("POST",))
    pages.add("/orders/<order>/part", take_part, scope="write", methods=("POST",))
    pages.add("/orders/<order>/change", change, scope="write", methods=("POST",))


_NEXT = {
    "draft": (("send", "It was sent"),),
    "sent": (("confirm", "Supplier confirmed"), ("receive", "The packs came")),
    "confirmed": (("receive", "The packs came"),),
    "received": (),
}
_SAID = {"send": "sent", "confirm": "confirmed", "receive": "received"}


def order_page(visit: Visit, job: str) -> Response:
    """What the plan wants bought, and the orders made from it."""
    return _shown(visit, job, Form({}))


def _shown(
    visit: Visit,
    job: str,
    form: Form,
    *,
    status: int = 200,
    faults: dict[str, list[str]] | None = None,
    short: str = "",
) -> Response:
    head = head_of(visit, job)
    run = head.run if head.run is not None and head.run.state == "ready" else None
    book = None if run is None else get_snapshot(visit.session, visit.account_id, run.snapshots["price_book"])
    lines = None if run is None else quotes.lines_to_order(visit.session, visit.account_id, run)
    agreed = None if run is None else quotes.accepted_of(visit.session, visit.account_id, run)
    papers = papers_of(visit, job)
    made = [
        {
            "row": row,
            "body": row.body,
            "paper": papers.of("order", row.id),
            "coming": papers.is_coming("order", row.id),
            "open": _open(row),
            "etag": ask(visit, "read_order", row.id).etag if row.state == "draft" else "",
        }
        for row in head.orders
    ]
    current = [] if run is None else orders_of_plan(visit.session, visit.account_id, run)
    return visit.page(
        "order.html", status=status, title="Order", form=form, faults=faults or {}, next_moves=_NEXT, head=head, step="order",
        lines=lines, currency=book["currency"] if book else "", orders=made, agreed=agreed, current=bool(current),
        outdated=bool(current) and lines is not None and not holds(current, lines),
        net=sum((Decimal(line["price"]) for line in lines or ()), Decimal(0)),
        moving=any(one["coming"] for one in made), short=short,
        lacking={line["supplier"] for line in lines or () if line["packs"]} - {row.supplier for row in current},
    )  # fmt: skip


def _open(row: tables.Order) -> list[dict[str, Any]]:
    """The lines of an order that was sent of which packs are still to come, and how many."""
    if row.state not in ("sent", "confirmed"):
        return []
    missing = to_come(row.body, row.state)
    return [
        {**line, "place": place, "missing": missing[line["product"], Decimal(line["pack_size"])]}
        for place, line in enumerate(row.body["lines"])
        if missing[line["product"], Decimal(line["pack_size"])]
    ]


def make(visit: Visit, job: str) -> Response:
    """Makes one order for each supplier."""
    form = tree({name: request.form[name].replace("\r\n", "\n") for name in request.form})
    try:
        ask(visit, "make_orders", job, body=loaded(OrderWish, _without_empty(typed(OrderWish, form))))
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _shown(visit, job, Form(form, refusal.faults), status=422)
    except NotPossibleNow as refusal:
        if refusal.code != "stock_changed":
            raise
        return _shown(visit, job, Form(form), status=409, short=str(refusal))
    return go(f"/jobs/{job}/order", "ordered")


def change(visit: Visit, order: str) -> Response:
    """Changes where and when a draft is delivered and what the supplier is told."""
    row = orders.get_order(visit.session, visit.account_id, order)
    if request.form.get("do") == "delete":
        ask(visit, "delete_order", order, if_match=request.form.get("etag") or "*")
        return go(f"/jobs/{row.job_id}/order", "draft_deleted")
    lines = [line.strip() for line in request.form.get("deliver_to", "").splitlines() if line.strip()]
    edit = {
        "deliver_to": lines,
        "deliver_on": request.form.get("deliver_on") or None,
        "notes": request.form.get("notes", "").replace("\r\n", "\n").strip() or None,
    }
    try:
        ask(visit, "change_order", order, body=edit, if_match=request.form.get("etag") or "*")
    except Refusal as refusal:
        if not refusal.faults:
            raise
        faults = {order: [fault.detail for fault in refusal.faults]}
        return _shown(visit, row.job_id, Form({}), status=422, faults=faults)
    return go(f"/jobs/{row.job_id}/order", "order_changed")


def take_part(visit: Visit, order: str) -> Response:
    """Notes that a part of an order came, and whether the rest is still to come."""
    row = orders.get_order(visit.session, visit.account_id, order)
    came = {place: request.form.get(f"came-{place}", "").strip() for place in range(len(row.body["lines"]))}
    lines = [
        {"product": line["product"], "pack_size": line["pack_size"], "packs": _whole(came[place])}
        for place, line in enumerate(row.body["lines"])
        if came[place]
    ]
    rest = "not_coming" if request.form.get("do") == "close" else "to_come"
    try:
        ask(visit, "receive_order", order, body=loaded(Receipt, {"lines": lines, "rest": rest}))
    except (Refusal, NotPossibleNow) as refusal:
        found = getattr(refusal, "faults", ())
        faults = {order: [fault.detail for fault in found] or [str(refusal)]}
        return _shown(visit, row.job_id, Form({}), status=422, faults=faults)
    return go(f"/jobs/{row.job_id}/order", "received" if rest == "not_coming" else "part_received")


def _whole(written: str) -> Any:
    return int(written) if written.isdecimal() and written.isascii() and len(written) < 8 else written


def _without_empty(wish: dict[str, object]) -> dict[str, object]:
    return {name: value for name, value in wish.items() if value not in ("", [])}


def move(visit: Visit, order: str) -> Response:
    """Notes that an order was sent, confirmed or received."""
    row = orders.get_order(visit.session, visit.account_id, order)
    verb = request.form.get("do", "")
    if verb not in _SAID:
        raise Refusal("bad_request")
    ask(visit, f"{verb}_order", order)
    return go(f"/jobs/{row.job_id}/order", _SAID[verb])
