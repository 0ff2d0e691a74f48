"""Orders of a job: what to buy, from whom, in which packs."""

from __future__ import annotations

from decimal import Decimal

from flask import Response

from service.api import orders as operations
from service.pages.jobs import head_of
from service.pages.papers import papers_of
from service.pages.serving import Pages, Visit, go
from service.records import runs


def add_orders(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/<job>/order", order_page)
    pages.add("/jobs/<job>/order/make", make, scope="write", methods=("POST",))


def order_page(visit: Visit, job: str) -> Response:
    """What the plan wants bought, and the orders made from it."""
    head = head_of(visit, job)
    ready = head.run is not None and head.run.state == "ready"
    plan = runs.get_plan(visit.session, visit.account_id, head.run.id) if head.run and ready else None
    papers = papers_of(visit, job)
    made = [
        {
            "row": row,
            "body": row.body,
            "paper": papers.of("order", row.id),
            "coming": papers.is_coming("order", row.id),
        }
        for row in head.orders
    ]
    return visit.page(
        "order.html", title="Order", head=head, step="order", plan=plan, orders=made,
        current=any(head.run is not None and one["row"].run_id == head.run.id for one in made),
        net=sum((Decimal(line["price"]) for line in plan["order_lines"]), Decimal(0)) if plan else None,
        moving=any(one["coming"] for one in made),
    )  # fmt: skip


def make(visit: Visit, job: str) -> Response:
    """Makes one order for each supplier."""
    operations.make_orders(visit.asked(), job)
    return go(f"/jobs/{job}/order", "ordered")
