"""Orders: the packs to buy, one order for each supplier of a plan."""

from __future__ import annotations

from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api_schema import order as shape
from api_schema.job import Job as JobRecord
from api_schema.order_line import OrderLine
from api_schema.order_wish import OrderWish
from api_schema.price_book import PriceBook
from api_schema.shape import dump, load
from service.records.errors import NotFound, NotPossibleNow
from service.records.ids import new_id
from service.records.jobs import get_job, job_body
from service.records.numbers import next_number
from service.records.own_values import get_snapshot, get_value
from service.records.quotes import ready_plan_of
from service.records.runs import get_plan, queue_render
from service.records.stock import add_to_stock
from service.records.store import now_of
from service.records.tables import Order

_AFTER: dict[shape.OrderState, tuple[shape.OrderState, ...]] = {
    "sent": ("draft",),
    "confirmed": ("sent",),
    "received": ("sent", "confirmed"),  # not every supplier confirms
}


def create_orders(
    session: Session, account_id: str, job_id: str, wish: OrderWish | None = None
) -> list[Order]:
    """Makes the orders of the ready plan of the job's present revision, and queues their documents.

    Asked again for the same plan, gives the orders made before: nothing is ordered twice by a slip. A plan that
    needs nothing bought has no orders. They go to the customer's address where `wish` names no other.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`.
    """
    _, run = ready_plan_of(session, account_id, job_id)
    made = list(session.scalars(select(Order).where(Order.run_id == run.id).order_by(Order.number)))
    if made:
        return made
    now = now_of(session)
    wish = wish or OrderWish()
    asked = load(JobRecord, job_body(session, account_id, job_id, run.revision))
    book = load(PriceBook, get_snapshot(session, account_id, run.snapshots["price_book"]))
    lines = [load(OrderLine, line) for line in get_plan(session, account_id, run.id)["order_lines"]]
    for supplier in book.suppliers:
        wanted = tuple(line for line in lines if line.supplier == supplier.code and line.packs > 0)
        if not wanted:
            continue
        number = f"O-{now.year}-{next_number(session, account_id, 'order', now.year):04d}"
        record = shape.Order(
            number=number,
            state="draft",
            made_on=now.date(),
            supplier=supplier,
            reference=asked.reference,
            currency=book.currency,
            lines=wanted,
            net=sum((line.price for line in wanted), Decimal(0)),
            deliver_to=asked.customer.address if wish.deliver_to is None else wish.deliver_to,
            deliver_on=wish.deliver_on,
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


def move_order(session: Session, account_id: str, order_id: str, state: shape.OrderState) -> Order:
    """Moves an order on; what is received is added to stock in the same transaction. Saying it twice changes nothing.

    Raises:
        NotFound: no such order.
        NotPossibleNow: it is not in a state from which this follows (`order_moved_on`).
        Stale: somebody changed the price book at the same moment.
    """
    order = get_order(session, account_id, order_id)
    session.execute(select(Order.id).where(Order.id == order_id).with_for_update())
    session.refresh(order)
    if order.state == state:
        return order
    if order.state not in _AFTER.get(state, ()):
        raise NotPossibleNow(
            "order_moved_on",
            f"The order is {order.state}; {state} follows {' or '.join(_AFTER.get(state, ('nothing',)))}.",
        )
    if state == "received":
        book = get_value(session, account_id, "price_book")
        add_to_stock(
            session, account_id, order.body["lines"], book=book.body, of_merchant=book.source == "merchant"
        )
    order.state, order.version = state, order.version + 1
    order.body = {**order.body, "state": state}
    session.flush()
    return order


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
