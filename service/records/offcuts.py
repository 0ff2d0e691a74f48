"""What becomes of a plan's rolls: those on hand are taken off stock, what is left is kept, and a ledger says whence."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.agreements import plans_of_same_work
from service.records.drawn_rolls import Size, drawn_rolls
from service.records.errors import NotPossibleNow
from service.records.ids import new_id
from service.records.ordered import orders_of_plan
from service.records.own_values import get_snapshot, get_value
from service.records.paging import Place, newest_first
from service.records.quotes import ready_plan_of
from service.records.receipts import came_of
from service.records.runs import get_plan
from service.records.stock import change_book
from service.records.store import now_of
from service.records.tables import Offcut, Run, SettledPlan
from service.records.upsert import insert_unless_there

_MOST = 2000  # entries of offcuts that a price book takes
_MOST_ALIKE = 1000


@dataclass(frozen=True, slots=True)
class Settled:
    """What settling a plan did."""

    kept: list[Offcut]
    used: list[Offcut]
    rolls: dict[str, Decimal]
    """Metres of whole rolls taken off stock, by product."""


def settle_plan(session: Session, account_id: str, job_id: str, keep: Sequence[int] | None) -> Settled:
    """Takes what the ready plan of the job's present revision uses off stock, and puts what it leaves on hand.

    Taken are the offcuts and rolls it cuts from stock, and the rolls it was to buy as far as its orders brought them
    into stock. `keep` names places in the plan's kept offcuts; all of them where None.

    Raises:
        NotFound: no such job.
        NotPossibleNow: `plan_not_ready`; `already_settled`, once a plan; `order_under_way`, while membrane of its
            orders is not received; `no_such_offcut`; `stock_changed`, where what it uses is no longer on hand.
        Stale: somebody changed the price book at the same moment.
    """
    job, run = ready_plan_of(session, account_id, job_id)
    now = now_of(session)
    if is_settled(session, account_id, run) or not insert_unless_there(
        session, SettledPlan, run_id=run.id, account_id=account_id, created_at=now
    ):
        raise NotPossibleNow("already_settled", "The rolls of this plan were taken off stock before.")
    cut_list = get_plan(session, account_id, run.id)["cut_list"]
    planned_book = get_snapshot(session, account_id, run.snapshots["price_book"])
    whole, used = drawn_rolls(cut_list["rolls"], planned_book)
    rolls: dict[str, Decimal] = {}
    for (product, length_mm, _), count in whole.items():
        _add(rolls, {product: count * Decimal(length_mm) / 1000})
    _add(rolls, _received(session, run, cut_list["rolls"]))
    kept = _chosen(cut_list["kept"], keep)
    value = get_value(session, account_id, "price_book")
    change_book(
        session,
        account_id,
        lambda book: _changed(book, rolls, used, kept),
        book=value.body,
        of_merchant=value.source == "merchant",
    )
    gone = [_use(session, account_id, size, job.id, now) for size in used.elements()]
    left = [
        Offcut(
            id=new_id("off"), account_id=account_id, product=size[0], length_mm=size[1], width_mm=size[2],
            from_job_id=job.id, created_at=now,
        )
        for size in kept.elements()
    ]  # fmt: skip
    session.add_all(left)
    session.flush()
    return Settled(left, gone, rolls)


def is_settled(session: Session, account_id: str, run: Run) -> bool:
    """Were the rolls of that plan taken off stock, or those of the plan of the same work that it came from?"""
    return bool(
        session.scalar(
            select(SettledPlan.run_id)
            .where(
                SettledPlan.run_id.in_(plans_of_same_work(session, account_id, run)),
                SettledPlan.account_id == account_id,
            )
            .limit(1)
        )
    )


def list_offcuts(
    session: Session, account_id: str, *, limit: int, after: Place | None = None
) -> list[Offcut]:
    """The account's ledger, newest first."""
    query = select(Offcut).where(Offcut.account_id == account_id)
    return list(session.scalars(newest_first(query, Offcut.created_at, Offcut.id, limit=limit, after=after)))


def change_on_hand(session: Session, account_id: str, size: Size, by: int) -> int:
    """Writes `by` offcuts of that size on hand, or takes them off where it is below zero, as somebody looked and counted.

    Returns how many are on hand after it.

    Raises:
        NotPossibleNow: `stock_changed`, where fewer are on hand or the price book has no such product;
            `too_many_offcuts`.
        Stale: somebody changed the price book at the same moment.
    """
    value = get_value(session, account_id, "price_book")
    more, fewer = (Counter({size: max(count, 0)}) for count in (by, -by))
    change_book(
        session,
        account_id,
        lambda book: _changed(book, {}, +fewer, +more),
        book=value.body,
        of_merchant=value.source == "merchant",
    )
    now = now_of(session)
    for _ in range(-by):
        _use(session, account_id, size, None, now)
    session.flush()
    book = get_value(session, account_id, "price_book").body
    return sum(
        one["count"] for one in book["offcuts"] if (one["product"], one["length_mm"], one["width_mm"]) == size
    )


def _received(session: Session, run: Run, rolls: Sequence[Mapping[str, Any]]) -> dict[str, Decimal]:
    """Metres of the rolls to buy that the plan's orders brought into stock."""
    bought: dict[str, Decimal] = {}
    for roll in rolls:
        if not roll["from_stock"]:
            _add(bought, {roll["product"]: Decimal(roll["length_mm"]) / 1000})
    came: dict[str, Decimal] = {}
    for order in orders_of_plan(session, run.account_id, run):
        for line in order.body["lines"]:
            if line["product"] not in bought:
                continue
            if order.state in ("sent", "confirmed"):
                raise NotPossibleNow(
                    "order_under_way",
                    f"Order {order.number} brings rolls of {line['product']} and was not received yet: note that it "
                    "was received first, so that its rolls can be taken off stock.",
                )
        if order.state == "received":
            for (product, size), packs in came_of(order.body, order.state).items():
                _add(came, {product: size * packs})
    return {code: min(metres, came[code]) for code, metres in bought.items() if code in came}


def _add(to: dict[str, Decimal], more: Mapping[str, Decimal]) -> None:
    for code, metres in more.items():
        to[code] = to.get(code, Decimal(0)) + metres


def _chosen(kept: Sequence[Mapping[str, Any]], keep: Sequence[int] | None) -> Counter[Size]:
    places = range(len(kept)) if keep is None else sorted(set(keep))
    if places and places[-1] >= len(kept):
        raise NotPossibleNow(
            "no_such_offcut",
            f"The plan leaves {len(kept)} offcuts, counted from 0; there is none at {places[-1]}.",
        )
    return Counter((kept[at]["product"], kept[at]["length_mm"], kept[at]["width_mm"]) for at in places)


def _changed(
    book: Mapping[str, Any], rolls: Mapping[str, Decimal], used: Counter[Size], kept: Counter[Size]
) -> dict[str, Any]:
    """The price book without what was used and with what was kept."""
    products = [_less(product, rolls.get(product["code"], Decimal(0))) for product in book["products"]]
    gone = sorted({*rolls, *(size[0] for size in kept)} - {product["code"] for product in products})
    if gone:
        raise NotPossibleNow(
            "stock_changed",
            f"Your price book has no {', '.join(gone)} any more: add it, or plan the job anew.",
        )
    on_hand: Counter[Size] = Counter()
    for one in book["offcuts"]:
        on_hand[one["product"], one["length_mm"], one["width_mm"]] += one["count"]
    for size, many in used.items():
        if on_hand[size] < many:
            raise NotPossibleNow(
                "stock_changed",
                f"{many} offcut(s) of {size[0]}, {size[1]} × {size[2]} mm would be used, and {on_hand[size]} are on "
                "hand: mend the price book, or plan the job anew.",
            )
    on_hand = on_hand - used + kept
    if len(on_hand) > _MOST or any(many > _MOST_ALIKE for many in on_hand.values()):
        raise NotPossibleNow(
            "too_many_offcuts",
            f"A price book takes {_MOST} kinds of offcuts and {_MOST_ALIKE} alike: keep fewer, or throw some away.",
        )
    offcuts = [
        {"product": product, "length_mm": length, "width_mm": width, "count": many}
        for (product, length, width), many in on_hand.items()
    ]
    return {**book, "products": products, "offcuts": offcuts}


def _less(product: Mapping[str, Any], metres: Decimal) -> dict[str, Any]:
    if not metres:
        return dict(product)
    left = Decimal(product["on_hand"]) - metres
    if left < 0:
        raise NotPossibleNow(
            "stock_changed",
            f"The plan uses {metres} m of {product['code']} from stock, and {product['on_hand']} m are on hand: "
            "mend the price book, or plan the job anew.",
        )
    return {**product, "on_hand": format(left.normalize(), "f")}


def _use(session: Session, account_id: str, size: Size, job_id: str | None, now: datetime.datetime) -> Offcut:
    """The oldest entry on hand of that size, now used; a new one where it was written into the price book."""
    entry = session.scalar(
        select(Offcut)
        .where(
            Offcut.account_id == account_id,
            Offcut.product == size[0],
            Offcut.length_mm == size[1],
            Offcut.width_mm == size[2],
            Offcut.used_at.is_(None),
        )
        .order_by(Offcut.created_at, Offcut.id)
        .limit(1)
    )
    if entry is None:
        entry = Offcut(
            id=new_id("off"), account_id=account_id, product=size[0], length_mm=size[1], width_mm=size[2], created_at=now
        )  # fmt: skip
        session.add(entry)
    entry.used_by_job_id, entry.used_at = job_id, now
    session.flush()
    return entry
