"""Which orders stand for a plan: its own, or those of the plan that its agreement was priced from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.agreements import plans_of_same_work
from service.records.quotes import lines_to_order
from service.records.tables import Order, Run


def orders_of_plan(session: Session, account_id: str, run: Run) -> list[Order]:
    """The orders that hold what a ready plan wants bought, by number: its own, and those of the plan it came from.

    A plan as agreed is of the same work as the plan that the quote was priced from, so what was ordered for that one
    counts, unless all of it came before the later plan was made: then that one found it on hand, and wants the rest.
    """
    found = list(
        session.scalars(
            select(Order)
            .where(
                Order.account_id == account_id,
                Order.run_id.in_(plans_of_same_work(session, account_id, run)),
            )
            .order_by(Order.number)
        )
    )
    own = [order for order in found if order.run_id == run.id]
    if own:
        return own
    if all(order.state == "received" for order in found) and not holds(
        found, lines_to_order(session, account_id, run)
    ):
        return []
    return found


def holds(orders: Iterable[Order], lines: Iterable[Mapping[str, Any]]) -> bool:
    """Do the orders hold exactly what is to be bought, JSON of order lines?"""
    ordered = [line for order in orders for line in order.body["lines"]]
    wanted = [line for line in lines if line["packs"] > 0]
    return Counter(map(_bought, ordered)) == Counter(map(_bought, wanted))


def _bought(line: Mapping[str, Any]) -> tuple[str, str, int]:
    return line["product"], line["pack_size"], line["packs"]
