"""A job is finished: once, and in one transaction, what it used up leaves the stock."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.errors import NotPossibleNow
from service.records.offcuts import Settled, is_settled, settle_plan
from service.records.own_values import get_value
from service.records.quotes import lines_to_order, ready_plan_of
from service.records.receipts import came_of
from service.records.stock import change_book
from service.records.store import now_of
from service.records.tables import FinishedJob, Order
from service.records.upsert import insert_unless_there

_NONE = Decimal(0)
_THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Finished:
    """What finishing a job did; `body` is JSON: {"used": [`api_schema.finish.UsedUp`], "packs": [as recorded]}."""

    finished_at: datetime.datetime
    body: dict[str, Any]
    settled: Settled


@dataclass(slots=True)
class _Use:
    """Of one product, in the unit of order lines."""

    kind: str
    planned: Decimal = _NONE
    draws: Decimal = _NONE  # what the plan takes from stock
    recorded: Decimal | None = None
    pack_sizes: list[Decimal] = field(default_factory=list)


def finish_job(
    session: Session,
    account_id: str,
    job_id: str,
    *,
    packs: Sequence[Mapping[str, Any]],
    keep: Sequence[int] | None,
) -> Finished:
    """Takes what a job used up off stock, keeps its offcuts, and notes that it is finished.

    `packs` is JSON of `api_schema.finish.PacksUsed`, each of a product of the price book. Of a product named there
    that amount is taken, as far as it is on hand: what was used beyond it was bought elsewhere. Of the others the
    planned amount (as the accepted quote has it, where one of this plan was accepted), waste included, as far as the
    plan draws it from stock and the job's received orders brought it.
    Membrane goes as in `settle_plan`, unless that was done before; rolls recorded beside the plan's are taken too,
    and recorded as fewer are left on hand.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`; `already_finished`; `order_under_way`, while an order of the job is not
            received; what `settle_plan` refuses.
        Stale: somebody changed the price book at the same moment.
    """
    job, run = ready_plan_of(session, account_id, job_id)
    now = now_of(session)
    if not insert_unless_there(
        session, FinishedJob, job_id=job.id, account_id=account_id, run_id=run.id, body={}, created_at=now
    ):
        raise NotPossibleNow(
            "already_finished", "This job was finished before; its stock was taken off then."
        )
    came = _received(session, account_id, job.id)
    settled_before = is_settled(session, account_id, run)
    settled = Settled([], [], {}) if settled_before else settle_plan(session, account_id, job_id, keep)
    uses = _uses(lines_to_order(session, account_id, run))
    value = get_value(session, account_id, "price_book")
    noted = _record(uses, packs, value.body)
    used: list[dict[str, Any]] = []

    def change(book: Mapping[str, Any]) -> dict[str, Any]:
        used.clear()
        products = []
        for product in book["products"]:
            use = uses.get(product["code"])
            if use is None or (use.kind == "membrane" and use.recorded is None):
                products.append(dict(product))
            elif use.kind == "membrane":
                gone = settled.rolls.get(product["code"], _NONE)
                left, taken = _take(product, _NONE if settled_before else use.recorded - gone, at_least=-gone)
                if taken or gone:
                    settled.rolls[product["code"]] = gone + taken
                products.append(left)
            else:
                amount = use.recorded
                if amount is None:
                    bought = min(came.get(product["code"], _NONE), max(_NONE, use.planned - use.draws))
                    amount = use.draws + bought
                left, taken = _take(product, amount)
                products.append(left)
                used.append(_shown(left, use, taken))
        return {**book, "products": products}

    change_book(session, account_id, change, book=value.body, of_merchant=value.source == "merchant")
    row = session.get_one(FinishedJob, job.id)
    row.body = {"used": used, "packs": noted}
    session.flush()
    return Finished(now, row.body, settled)


def finished(session: Session, account_id: str, job_id: str) -> FinishedJob | None:
    """The note that a job is finished; None while it is not."""
    return session.scalar(
        select(FinishedJob).where(FinishedJob.account_id == account_id, FinishedJob.job_id == job_id)
    )


def _received(session: Session, account_id: str, job_id: str) -> dict[str, Decimal]:
    came: dict[str, Decimal] = {}
    for order in session.scalars(
        select(Order).where(Order.account_id == account_id, Order.job_id == job_id).order_by(Order.number)
    ):
        if order.state in ("sent", "confirmed"):
            raise NotPossibleNow(
                "order_under_way",
                f"Order {order.number} of this job was not received yet: note that it was received first, so that "
                "what it brings is on hand before it is taken off.",
            )
        if order.state == "received":
            for (product, size), packs in came_of(order.body, order.state).items():
                came[product] = came.get(product, _NONE) + size * packs
    return came


def _uses(lines: Sequence[Mapping[str, Any]]) -> dict[str, _Use]:
    uses: dict[str, _Use] = {}
    for line in lines:
        use = uses.setdefault(line["product"], _Use(line["kind"]))
        use.planned += Decimal(line["needed"]) + Decimal(line["waste"])
        use.draws += Decimal(line["from_stock"])
        use.pack_sizes.append(Decimal(line["pack_size"]))
    return uses


def _record(
    uses: dict[str, _Use], packs: Sequence[Mapping[str, Any]], book: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """Puts recorded packs into the uses; gives them with their sizes filled in."""
    products = {product["code"]: product for product in book["products"]}
    noted = []
    for one in packs:
        product = products[one["product"]]
        use = uses.setdefault(product["code"], _Use(product["kind"]))
        if one["pack_size"] is not None:
            size = Decimal(one["pack_size"])
        elif use.pack_sizes:
            size = use.pack_sizes[0]
        else:
            size = Decimal(product["packs"][0]["size"]) * _content(product)
        use.recorded = (use.recorded or _NONE) + Decimal(one["packs"]) * size
        noted.append({"product": product["code"], "pack_size": _plain(size), "packs": one["packs"]})
    return noted


def _content(product: Mapping[str, Any]) -> Decimal:
    """Of what is kept by the cartridge and ordered by the millilitre, the content of one; else 1."""
    if product["kind"] == "sealant" and product["unit"] == "piece" and product["millilitres"]:
        return Decimal(product["millilitres"])
    return Decimal(1)


def _take(
    product: Mapping[str, Any], amount: Decimal, *, at_least: Decimal = _NONE
) -> tuple[dict[str, Any], Decimal]:
    """The product with `amount` (order-line unit) less on hand, as far as there is, and how much that was."""
    content = _content(product)
    on_hand = Decimal(product["on_hand"])
    taken = max(min(amount / content, on_hand), at_least).quantize(_THOUSANDTH)
    if not taken:
        return dict(product), _NONE
    return {**product, "on_hand": _plain(max(on_hand - taken, _NONE))}, taken * content


def _shown(product: Mapping[str, Any], use: _Use, taken: Decimal) -> dict[str, Any]:
    return {
        "product": product["code"],
        "planned": _plain(use.planned),
        "used": _plain(use.planned if use.recorded is None else use.recorded),
        "recorded": use.recorded is not None,
        "taken": _plain(taken),
        "on_hand": _plain(Decimal(product["on_hand"]) * _content(product)),
    }


def _plain(amount: Decimal) -> str:
    return format(amount.quantize(_THOUSANDTH).normalize(), "f")
