"""Orders: the packs to buy, one order for each supplier of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from api_schema import order as shape
from api_schema.currency import minor_unit
from api_schema.job import Job as JobRecord
from api_schema.order_line import OrderLine
from api_schema.order_wish import OrderEdit, OrderWish, Receipt
from api_schema.price import TaxLine
from api_schema.price_book import PriceBook
from api_schema.shape import dump, load
from api_schema.tax import STANDARD, rates_by_code
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.ids import new_id
from service.records.jobs import get_job, job_body
from service.records.numbers import next_number
from service.records.ordered import orders_of_plan
from service.records.own_values import get_snapshot, get_value
from service.records.quotes import lines_to_order, ready_plan_of
from service.records.receipts import came_of, chosen, lines_of, to_come
from service.records.runs import cancel_run, get_plan, get_run, queue_render
from service.records.spoken_for import let_go, note_what_came, speak_for
from service.records.stock import add_to_stock
from service.records.store import now_of
from service.records.tables import Document, Order, Run

_AFTER: dict[shape.OrderState, tuple[shape.OrderState, ...]] = {
    "sent": ("draft",),
    "confirmed": ("sent",),
    "received": ("sent", "confirmed"),  # not every supplier confirms
}


def create_orders(
    session: Session, account_id: str, job_id: str, wish: OrderWish | None = None
) -> list[Order]:
    """Makes the orders of the ready plan of the job's present revision, and queues their documents.

    Where a quote of that plan was accepted, what was agreed in it is ordered: no collars that others bring. Asked
    again for the same plan, gives the orders made before: nothing is ordered twice by a slip, not for a plan as
    agreed either (`orders_of_plan`), and a supplier whose draft was deleted gets a new one. A plan that needs nothing
    bought has no orders. They go to the customer's address where `wish` names no other.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`; `stock_changed`, where the plan draws more from stock than other jobs leave.
    """
    _, run = ready_plan_of(session, account_id, job_id)
    made = orders_of_plan(session, account_id, run)
    wanted_lines = lines_to_order(session, account_id, run)
    done = {order.supplier for order in made}
    missing = {line["supplier"] for line in wanted_lines if line["packs"]} - done  # their draft was deleted
    if made and (not missing or made[0].run_id != run.id):
        return made
    now = now_of(session)
    wish = wish or OrderWish()
    asked = load(JobRecord, job_body(session, account_id, job_id, run.revision))
    planned_book = get_snapshot(session, account_id, run.snapshots["price_book"])
    if not made:
        speak_for(
            session,
            account_id,
            run,
            rolls=get_plan(session, account_id, run.id)["cut_list"]["rolls"],
            lines=wanted_lines,
            planned_book=planned_book,
            book=get_value(session, account_id, "price_book").body,
        )
    book = load(PriceBook, planned_book)
    lines = [load(OrderLine, line) for line in wanted_lines]
    for supplier in book.suppliers:
        wanted = tuple(line for line in lines if line.supplier == supplier.code and line.packs > 0)
        if not wanted or supplier.code in done:
            continue
        number = f"O-{now.year}-{next_number(session, account_id, 'order', now.year):04d}"
        net = sum((line.price for line in wanted), Decimal(0))
        taxes = _taxes(wanted, book)
        record = shape.Order(
            number=number,
            state="draft",
            made_on=now.date(),
            supplier=supplier,
            reference=asked.reference,
            currency=book.currency,
            lines=wanted,
            net=net,
            deliver_to=asked.customer.address if wish.deliver_to is None else wish.deliver_to,
            deliver_on=wish.deliver_on,
            notes=wish.notes or "",
            tax=taxes,
            total=net + sum((tax.amount for tax in taxes), Decimal(0)),
        )
        order = Order(
            id=new_id("ord"),
            account_id=account_id,
            job_id=job_id,
            run_id=run.id,
            number=number,
            supplier=supplier.code,
            state="draft",
            body=dump(record),
            version=1,
            created_at=now,
        )
        session.add(order)
        session.flush()
        queue_render(session, account_id, of=run, document_kind="order", subject_id=order.id)
        made.append(order)
    return made


def move_order(
    session: Session,
    account_id: str,
    order_id: str,
    state: shape.OrderState,
    *,
    receipt: Receipt | None = None,
) -> Order:
    """Moves an order on; what is received is added to stock in the same transaction. Saying it twice changes nothing.

    With a `receipt` of a part the order stays where it is until the rest came too, or is said not to come.

    Raises:
        NotFound: no such order.
        NotPossibleNow: it is not in a state from which this follows (`order_moved_on`); what came was not ordered so
            (`not_so_ordered`).
        Stale: somebody changed the price book at the same moment.
    """
    order = get_order(session, account_id, order_id)
    session.execute(select(Order.id).where(Order.id == order_id).with_for_update())
    session.refresh(order)
    if order.state == state and (receipt is None or receipt.lines is None):
        return order
    if order.state not in _AFTER.get(state, ()):
        raise NotPossibleNow(
            "order_moved_on",
            f"The order is {order.state}; {state} follows {' or '.join(_AFTER.get(state, ('nothing',)))}.",
        )
    body = {**order.body, "state": state}
    if state == "received":
        body = _take_in(session, order, receipt or Receipt())
    if body == order.body:
        return order
    order.state, order.version, order.body = body["state"], order.version + 1, body
    session.flush()
    if state == "received":
        note_what_came(session, account_id, order.run_id)
    return order


def _take_in(session: Session, order: Order, receipt: Receipt) -> dict[str, Any]:
    """Adds what came to the stock; gives the order's body after it."""
    open_ = to_come(order.body, order.state)
    now = open_ if receipt.lines is None else chosen(receipt.lines, open_)
    over = receipt.rest == "not_coming" or all(now.get(key, 0) == count for key, count in open_.items())
    if any(now.values()):
        book = get_value(session, order.account_id, "price_book")
        add_to_stock(
            session, order.account_id, lines_of(now), book=book.body, of_merchant=book.source == "merchant"
        )
    elif not over:
        return dict(order.body)
    came = came_of(order.body, order.state)
    whole = {key: came.get(key, 0) + now.get(key, 0) for key in open_}
    return {**order.body, "came": lines_of(whole), "state": "received" if over else order.state}


def change_order(
    session: Session, account_id: str, order_id: str, edit: OrderEdit, *, if_version: int
) -> Order:
    """Changes where and when a draft is to be delivered and what the supplier is told; its document is made anew.

    Raises:
        NotFound: no such order.
        Stale: its version is no longer `if_version`.
        NotPossibleNow: it is no draft any more (`order_moved_on`).
    """
    order = _draft(session, account_id, order_id, "changed")
    if order.version != if_version:
        raise Stale("order")
    body = {**order.body, **dump(edit)}
    if body == order.body:
        return order
    _take_back_papers(session, order)
    order.body, order.version = body, order.version + 1
    session.flush()
    run = get_run(session, account_id, order.run_id)
    queue_render(session, account_id, of=run, document_kind="order", subject_id=order.id)
    return order


def delete_order(session: Session, account_id: str, order_id: str) -> None:
    """Removes a draft and its document. Its number is not given out again; without orders the job counts on no stock.

    Raises:
        NotFound: no such order.
        NotPossibleNow: it is no draft any more (`order_moved_on`).
    """
    order = _draft(session, account_id, order_id, "deleted")
    _take_back_papers(session, order)
    session.delete(order)
    session.flush()
    let_go(session, account_id, order.run_id)


def _draft(session: Session, account_id: str, order_id: str, verb: str) -> Order:
    """The draft, locked against others until this transaction ends."""
    order = get_order(session, account_id, order_id)
    session.execute(select(Order.id).where(Order.id == order_id).with_for_update())
    session.refresh(order)
    if order.state != "draft":
        raise NotPossibleNow("order_moved_on", f"The order is {order.state}; only a draft can be {verb}.")
    return order


def _take_back_papers(session: Session, order: Order) -> None:
    """Removes what was rendered of a draft, and gives up what is being rendered, so that none of it is found later."""
    account_id = order.account_id
    waiting = session.scalars(
        select(Run.id).where(
            Run.account_id == account_id,
            Run.kind == "render",
            Run.document_kind == "order",
            Run.subject_id == order.id,
            Run.state.in_(("queued", "running")),
        )
    ).all()
    for run_id in waiting:
        with suppress(NotPossibleNow):  # it ended this moment; what it made is removed below
            cancel_run(session, account_id, run_id)
    session.execute(
        delete(Document).where(
            Document.account_id == account_id,
            Document.kind.in_(("order", "order_xml")),
            Document.subject_id == order.id,
        )
    )


def _taxes(lines: Sequence[OrderLine], book: PriceBook) -> tuple[TaxLine, ...]:
    """The tax to expect on the lines, by rate: each line's rounded half-even, as in a price."""
    rates, step = rates_by_code(book.rules.tax_rate, book.tax_rates), minor_unit(book.currency)
    found = []
    for rate in sorted(rates.values(), key=lambda rate: -rate.rate):
        prices = [line.price for line in lines if (line.tax or STANDARD) == rate.code]
        if prices:
            amount = sum(
                ((price * rate.rate).quantize(step, ROUND_HALF_EVEN) for price in prices), Decimal(0)
            )
            base = sum(prices, Decimal(0))
            found.append(TaxLine(rate.rate, base, amount, rate.code, rate.name, rate.category))
    return tuple(found)


def get_order(session: Session, account_id: str, order_id: str) -> Order:
    """The order. Raises NotFound."""
    order = session.scalar(select(Order).where(Order.account_id == account_id, Order.id == order_id))
    if order is None:
        raise NotFound("order")
    return order


def list_orders(session: Session, account_id: str, job_id: str) -> list[Order]:
    """Every order of a job, newest first. Raises NotFound for the job."""
    get_job(session, account_id, job_id)
    return list(
        session.scalars(
            select(Order)
            .where(Order.account_id == account_id, Order.job_id == job_id)
            .order_by(Order.created_at.desc(), Order.number.desc())
        )
    )
