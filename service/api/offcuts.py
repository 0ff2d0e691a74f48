"""Offcuts: what a job left that was kept for the next, and which job used it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from api_schema.offcut import LedgerOffcut, OffcutCount, OffcutsKept, OffcutsOnHand, OffcutWish
from api_schema.price_book import PriceBook
from api_schema.problem import Fault
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import PAGE_PARAMETERS, page_of
from service.api.problems import bad_input
from service.records import offcuts as records
from service.records import tables
from service.records.own_values import get_value

offcuts = Resource(
    "offcuts", "Offcuts", "What jobs left on their rolls: kept on hand and offered to the next plan first."
)


def shown_offcut(row: tables.Offcut) -> dict[str, Any]:
    """An offcut as it travels."""
    return {
        "id": row.id,
        "product": row.product,
        "length_mm": row.length_mm,
        "width_mm": row.width_mm,
        "from_job": row.from_job_id,
        "used_by_job": row.used_by_job_id,
        "created_at": row.created_at.isoformat(),
        "used_at": None if row.used_at is None else row.used_at.isoformat(),
    }


def shown_rolls(rolls: Mapping[str, Decimal]) -> list[dict[str, str]]:
    """Metres of roll by product as they travel."""
    return [
        {"product": product, "metres": format(metres.normalize(), "f")} for product, metres in rolls.items()
    ]


@offcuts.operation(
    "POST",
    "/v1/jobs/{job}/offcuts",
    "Keep a job's offcuts",
    scope="write",
    takes=OffcutWish,
    example={"keep": [0]},
    optional=True,
    gives={201: OffcutsKept},
    may_answer=(404, 409, 412),
)
def keep_offcuts(asked: Asked, job: str) -> Answer:
    """Puts what the ready plan of the job's present revision leaves on hand, all of it or what `keep` names.

    In the same step the offcuts and rolls that the plan cuts from stock are taken off, and the rolls bought for it as
    far as its orders were received into stock. Once a plan: 409 the second time, while an order with its rolls is
    under way, and where what it uses is no longer on hand.
    """
    account_id = asked.caller.account_id
    wish = asked.body or OffcutWish()
    done = records.settle_plan(asked.session, account_id, job, wish.keep)
    note(asked, "offcuts.kept", job)
    return Answer(
        {
            "job": job,
            "kept": [shown_offcut(row) for row in done.kept],
            "used": [shown_offcut(row) for row in done.used],
            "rolls": shown_rolls(done.rolls),
        },
        status=201,
    )


@offcuts.operation(
    "GET",
    "/v1/offcuts",
    "Read the ledger of offcuts",
    scope="read",
    gives={200: ListOf(LedgerOffcut)},
    query=PAGE_PARAMETERS,
)
def list_offcuts(asked: Asked) -> Answer:
    """Lists every offcut that was kept or used, newest first: which job left it and which used it.

    How many are on hand stands in the price book.
    """
    return page_of(
        asked.query,
        lambda limit, after: records.list_offcuts(
            asked.session, asked.caller.account_id, limit=limit, after=after
        ),
        shown_offcut,
    )


@offcuts.operation(
    "POST",
    "/v1/offcuts",
    "Count offcuts",
    scope="write",
    takes=OffcutCount,
    example={"product": "membrane-1500", "length_mm": 8200, "width_mm": 1500, "by": 1},
    gives={200: OffcutsOnHand},
    may_answer=(409, 412),
)
def count_offcuts(asked: Asked) -> Answer:
    """Writes offcuts of a size on hand, or notes them off, as somebody looked and counted.

    409 where fewer are on hand than are noted off.
    """
    count: OffcutCount = asked.body
    size = (count.product, count.length_mm, count.width_mm)
    account_id = asked.caller.account_id
    book: PriceBook = get_value(asked.session, account_id, "price_book").record()
    if count.by > 0 and count.product not in {one.code for one in book.products if one.kind == "membrane"}:
        raise bad_input((Fault("/product", "is no membrane of your price book; choose one that is."),))
    left = records.change_on_hand(asked.session, account_id, size, count.by)
    note(
        asked,
        "offcuts.counted",
        account_id,
        detail=f"{count.by:+d} of {count.product}, {count.length_mm} by {count.width_mm} mm",
    )
    return Answer(
        {
            "product": count.product,
            "length_mm": count.length_mm,
            "width_mm": count.width_mm,
            "on_hand": left,
        }
    )
