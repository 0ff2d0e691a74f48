"""Orders: the packs to buy, one order for each supplier."""

from __future__ import annotations

from typing import Any

from api_schema.stored import StoredOrder
from service.api.editing import etag_of
from service.api.links import address
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import whole_list
from service.records import accounts, documents, tables
from service.records import orders as records

orders = Resource(
    "orders", "Orders", "The packs to buy for a job, after stock on hand, one order for each supplier."
)


def _shown(asked: Asked, row: tables.Order) -> dict[str, Any]:
    paper = documents.document_of(asked.session, asked.caller.account_id, kind="order", subject_id=row.id)
    links = {"self": address(f"/v1/orders/{row.id}"), "job": address(f"/v1/jobs/{row.job_id}")}
    if paper is not None:
        links["document"] = address(f"/v1/documents/{paper.id}")
    return {
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
    gives={201: ListOf(StoredOrder)},
    may_answer=(404, 409),
)
def make_orders(asked: Asked, job: str) -> Answer:
    """Makes one order for each supplier of the ready plan of the job's present revision.

    Asked again for the same plan it gives the same orders: nothing is ordered twice by a slip. Their PDFs follow
    shortly. 409 while the plan is not ready. Nothing is sent to a supplier.
    """
    made = records.create_orders(asked.session, asked.caller.account_id, job)
    for row in made:
        accounts.note(
            asked.session,
            asked.caller.account_id,
            key_id=asked.caller.key_id,
            action="order.made",
            subject=row.id,
        )
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
    row = records.get_order(asked.session, asked.caller.account_id, order)
    shown = _shown(asked, row)
    return Answer(shown, etag=etag_of("order", row.id, row.version, shown["document"]))
