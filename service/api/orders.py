"""Orders: the packs to buy, one order for each supplier."""

from __future__ import annotations

from typing import Any

from api_schema.order import OrderState
from api_schema.order_wish import OrderEdit, OrderWish, Receipt
from api_schema.stored import StoredOrder
from service.api.editing import check_match, etag_of, loaded, merge_patch
from service.api.links import address
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import whole_list
from service.api.xml import xml_of
from service.records import documents, tables
from service.records import orders as records

orders = Resource(
    "orders", "Orders", "The packs to buy for a job, after stock on hand, one order for each supplier."
)


_CAN = {
    "draft": ("send",),
    "sent": ("confirm", "receive"),
    "confirmed": ("receive",),
    "received": (),
}
_EDITED = ("deliver_to", "deliver_on", "notes")


def _shown(asked: Asked, row: tables.Order) -> dict[str, Any]:
    paper = documents.document_of(asked.session, asked.caller.account_id, kind="order", subject_id=row.id)
    here = address(f"/v1/orders/{row.id}")
    links = {"self": here, "job": address(f"/v1/jobs/{row.job_id}")}
    links |= {verb: f"{here}/{verb}" for verb in _CAN[row.state]}
    if paper is not None:
        links["document"] = address(f"/v1/documents/{paper.id}")
    return {
        "came": None,
        **row.body,
        "id": row.id,
        "job": row.job_id,
        "document": None if paper is None else paper.id,
        "created_at": row.created_at.isoformat(),
        "links": links,
    }


@orders.operation(
    "POST",
    "/v1/jobs/{job}/orders",
    "Make the orders",
    scope="write",
    takes=OrderWish,
    example={"deliver_to": ["1 Sample Street", "Exampletown"], "deliver_on": "2026-12-01"},
    optional=True,
    gives={201: ListOf(StoredOrder)},
    may_answer=(404, 409),
)
def make_orders(asked: Asked, job: str) -> Answer:
    """Makes one order for each supplier of the ready plan of the job's present revision.

    Where a quote of that plan was accepted, what was agreed is ordered, with the alternatives that were chosen: no
    collars, say, where the other trades bring them. Else what the plan needs. Asked again for the same plan it gives the same orders: nothing is ordered twice by a slip; a
    supplier whose draft was deleted gets a new one. Their PDFs follow shortly. 409 while the plan is not ready. Nothing is sent to a supplier.

    From now on, also where nothing had to be bought, the job is left what it takes from stock and what comes by its
    orders, as far as it needs it: plans made later do not count on that, until the job is finished or removed or these
    drafts are deleted. 409 `stock_changed` where less is left than this plan takes from stock, with the jobs that count
    on it: plan the job again (`PUT` it as it is), and what is missing is bought.
    """
    account_id = asked.caller.account_id
    before = {row.id for row in records.list_orders(asked.session, account_id, job)}
    made = records.create_orders(asked.session, account_id, job, asked.body)
    for row in made:
        if row.id not in before:
            note(asked, "order.made", row.id)
    return Answer({"items": [_shown(asked, row) for row in made]}, status=201)


@orders.operation(
    "GET",
    "/v1/jobs/{job}/orders",
    "List a job's orders",
    scope="read",
    gives={200: ListOf(StoredOrder)},
    may_answer=(404,),
)
def list_orders(asked: Asked, job: str) -> Answer:
    """Lists every order of a job, newest first."""
    return whole_list(
        records.list_orders(asked.session, asked.caller.account_id, job), lambda row: _shown(asked, row)
    )


@orders.operation(
    "GET",
    "/v1/orders/{order}",
    "Read an order",
    scope="read",
    gives={200: StoredOrder},
    may_answer=(404,),
    etag=True,
)
def read_order(asked: Asked, order: str) -> Answer:
    """Gives an order: supplier, packs, prices and where to deliver."""
    return _answer(asked, records.get_order(asked.session, asked.caller.account_id, order))


@orders.operation(
    "PATCH",
    "/v1/orders/{order}",
    "Change a draft order",
    scope="write",
    takes=OrderEdit,
    example={"deliver_on": "2026-12-04", "notes": "Ring the site half an hour before."},
    gives={200: StoredOrder},
    may_answer=(404, 409),
    edits=True,
    etag=True,
)
def change_order(asked: Asked, order: str) -> Answer:
    """Changes the delivery address, the day or the notes of a draft; `null` empties one. Its PDF is made anew.

    409 once it was sent. What is bought follows from the plan: change the job or the price book for that.
    """
    account_id = asked.caller.account_id
    row = records.get_order(asked.session, account_id, order)
    check_match(asked.if_match, _etag(row, _shown(asked, row)))
    now = {name: row.body.get(name) for name in _EDITED if row.body.get(name) is not None}
    edit = loaded(OrderEdit, merge_patch(now, asked.body))
    before = row.version
    row = records.change_order(asked.session, account_id, order, edit, if_version=before)
    if row.version != before:
        note(asked, "order.changed", order)
    return _answer(asked, row)


@orders.operation(
    "DELETE",
    "/v1/orders/{order}",
    "Delete a draft order",
    scope="write",
    gives={204: None},
    may_answer=(404, 409),
    edits=True,
)
def delete_order(asked: Asked, order: str) -> Answer:
    """Deletes a draft and its PDF; asked again for its plan, a new order gets the next number and this one is not used again.

    409 once it was sent.
    """
    account_id = asked.caller.account_id
    row = records.get_order(asked.session, account_id, order)
    check_match(asked.if_match, _etag(row, _shown(asked, row)))
    records.delete_order(asked.session, account_id, order)
    note(asked, "order.deleted", order)
    return Answer(status=204)


@orders.operation(
    "GET",
    "/v1/orders/{order}.xml",
    "Read an order as UBL",
    scope="read",
    gives={200: Media("application/xml", "The order as an OASIS UBL 2.1 Order.")},
    may_answer=(404, 409),
    etag=True,
)
def read_order_xml(asked: Asked, order: str) -> Answer:
    """Gives an order as an OASIS UBL 2.1 Order, as attached in its PDF. 409 until it is rendered."""
    row = records.get_order(asked.session, asked.caller.account_id, order)
    return xml_of(asked, kind="order_xml", subject_id=row.id)


def _moves(verb: str, state: OrderState, summary: str, words: str) -> None:
    def move(asked: Asked, order: str) -> Answer:
        account_id = asked.caller.account_id
        row = records.get_order(asked.session, account_id, order)
        if asked.if_match is not None:
            check_match(asked.if_match, _etag(row, _shown(asked, row)))
        was = row.state
        row = records.move_order(asked.session, account_id, order, state)
        if was != state:
            note(asked, f"order.{state}", order)
        return _answer(asked, row)

    move.__name__, move.__doc__ = f"{verb}_order", words
    orders.operation(
        "POST",
        f"/v1/orders/{{order}}/{verb}",
        summary,
        scope="write",
        gives={200: StoredOrder},
        may_answer=(404, 409, 412),
        etag=True,
    )(move)


_moves(
    "send", "sent", "Note that an order was sent",
    "Notes that you sent a draft order to its supplier. Nothing is sent from here. Twice changes nothing; `If-Match` may be sent.",
)  # fmt: skip
_moves(
    "confirm", "confirmed", "Note that an order was confirmed",
    "Notes that the supplier confirmed an order that was sent. Twice changes nothing; `If-Match` may be sent.",
)  # fmt: skip


@orders.operation(
    "POST",
    "/v1/orders/{order}/receive",
    "Note that an order was received",
    scope="write",
    takes=Receipt,
    example={"lines": [{"product": "tape-60", "packs": 1, "pack_size": "30"}], "rest": "to_come"},
    optional=True,
    gives={200: StoredOrder},
    may_answer=(404, 409, 412),
    etag=True,
)
def receive_order(asked: Asked, order: str) -> Answer:
    """Notes that the packs of a sent or confirmed order came, and adds them to the stock on hand in your price book, or
    beside your merchant's where you buy from that. Without a body, everything still to come: twice adds nothing.

    With `lines` a part of it: the order stays open until the rest came too, or closes at once where `rest` says that it
    is not coming. `came` of the order says what came so far. `If-Match` may be sent.
    """
    account_id = asked.caller.account_id
    row = records.get_order(asked.session, account_id, order)
    if asked.if_match is not None:
        check_match(asked.if_match, _etag(row, _shown(asked, row)))
    was = row.version
    row = records.move_order(asked.session, account_id, order, "received", receipt=asked.body)
    if row.version != was:
        note(asked, "order.received" if row.state == "received" else "order.part_received", order)
    return _answer(asked, row)


def _etag(row: tables.Order, shown: dict[str, Any]) -> str:
    return etag_of("order", row.id, row.version, shown["document"])


def _answer(asked: Asked, row: tables.Order) -> Answer:
    shown = _shown(asked, row)
    return Answer(shown, etag=_etag(row, shown))
