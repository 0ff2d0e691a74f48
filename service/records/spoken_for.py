"""Stock that is spoken for: what jobs whose orders were made will use of it, until they are finished.

What is on hand could be counted on by every plan at once, and of two jobs one would buy too little. So from the moment
its orders are made, also where nothing had to be bought, a job is left what finishing it would take off stock: what its
plan draws from it, and of what it ordered as much as came and is needed. Plans made later leave that alone, and orders
of a plan made before are refused where not enough is left. Deleting its draft orders, finishing or removing the job
lets go of it.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_FLOOR, Decimal
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from service.records.drawn_rolls import Size, drawn_rolls
from service.records.errors import NotPossibleNow
from service.records.receipts import came_of
from service.records.store import now_of
from service.records.tables import Account, FinishedJob, Job, Order, Run, SettledPlan, SpokenFor

_NONE = Decimal(0)
_THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Held:
    """What one job counts on."""

    reference: str
    products: dict[str, Decimal] = field(default_factory=dict)
    """By code, in the unit the product is kept in."""
    offcuts: Counter[Size] = field(default_factory=Counter)


def held_for_others(session: Session, account_id: str, job_id: str | None) -> list[Held]:
    """What jobs other than `job_id` count on, the one ordered for first first."""
    rows = session.execute(
        select(SpokenFor, Job.reference)
        .join(Job, Job.id == SpokenFor.job_id)
        .where(
            SpokenFor.account_id == account_id,
            SpokenFor.job_id != (job_id or ""),
            Job.deleted_at.is_(None),
            ~exists().where(FinishedJob.job_id == SpokenFor.job_id),
        )
        .order_by(SpokenFor.created_at, SpokenFor.run_id)
    ).all()
    newest = {
        row.job_id: (row, reference) for row, reference in rows
    }  # of several plans the one ordered last
    settled: dict[str, datetime.datetime] = {}
    if newest:
        for job, at in session.execute(
            select(Run.job_id, SettledPlan.created_at)
            .join(Run, Run.id == SettledPlan.run_id)
            .where(SettledPlan.account_id == account_id, Run.job_id.in_(list(newest)))
            .order_by(SettledPlan.created_at)
        ):
            settled[str(job)] = at
    return [
        _held(row, reference, settled=row.job_id in settled and settled[row.job_id] >= row.created_at)
        for row, reference in newest.values()
    ]


def _held(row: SpokenFor, reference: str, *, settled: bool) -> Held:
    found = Held(reference)
    for code, use in row.body["products"].items():
        if settled and use["kind"] == "membrane":
            continue  # its rolls were taken off already
        draws, needs = Decimal(use["draws"]), Decimal(use["needs"])
        came = Decimal(row.body["came"].get(code, "0"))
        amount = (draws + min(came, max(_NONE, needs - draws))) / Decimal(use["content"])
        if amount:
            found.products[code] = amount
    if not settled:
        for product, length, width, count in row.body["offcuts"]:
            found.offcuts[product, length, width] += count
    return found


def left_of(book: Mapping[str, Any], held: Sequence[Held]) -> dict[str, Any]:
    """The price book (JSON) with what is left of its stock beside what is held."""
    if not held:
        return dict(book)
    gone: dict[str, Decimal] = {}
    pieces: Counter[Size] = Counter()
    for one in held:
        for code, amount in one.products.items():
            gone[code] = gone.get(code, _NONE) + amount
        pieces += one.offcuts
    offcuts = []
    for one in book["offcuts"]:
        size = (one["product"], one["length_mm"], one["width_mm"])
        used = min(pieces[size], one["count"])
        pieces[size] -= used
        if one["count"] > used:
            offcuts.append({**one, "count": one["count"] - used})
    return {**book, "products": [_less(one, gone) for one in book["products"]], "offcuts": offcuts}


def _less(product: Mapping[str, Any], gone: Mapping[str, Decimal]) -> dict[str, Any]:
    if product["code"] not in gone:
        return dict(product)
    left = max(_NONE, Decimal(product["on_hand"]) - gone[product["code"]])
    return {**product, "on_hand": format(left.quantize(_THOUSANDTH, ROUND_FLOOR).normalize(), "f")}


def speak_for(
    session: Session,
    account_id: str,
    run: Run,
    *,
    rolls: Sequence[Mapping[str, Any]],
    lines: Sequence[Mapping[str, Any]],
    planned_book: Mapping[str, Any],
    book: Mapping[str, Any],
) -> None:
    """Notes what the job of a ready plan counts on from now on, as its orders are made.

    All JSON: `rolls` of its cut list, `lines` to be ordered, the price book it was planned with and the one that holds
    now. Others who order for the account wait until this transaction ends.

    Raises:
        NotPossibleNow: `stock_changed`, where less is left than the plan draws from stock.
    """
    session.execute(select(Account.id).where(Account.id == account_id).with_for_update(key_share=True))
    body = _body(rolls, lines, planned_book)
    _refuse_where_short(body, book, held_for_others(session, account_id, run.job_id))
    row, now = session.get(SpokenFor, run.id), now_of(session)
    if row is None:
        session.add(
            SpokenFor(run_id=run.id, account_id=account_id, job_id=str(run.job_id), body=body, created_at=now)
        )
    else:
        row.body, row.created_at = body, now
    session.flush()


def _body(
    rolls: Sequence[Mapping[str, Any]], lines: Sequence[Mapping[str, Any]], book: Mapping[str, Any]
) -> dict[str, Any]:
    content = {
        one["code"]: one["millilitres"]
        for one in book["products"]
        if one["kind"] == "sealant" and one["unit"] == "piece" and one["millilitres"]
    }
    amounts: dict[str, tuple[str, Decimal, Decimal]] = {}

    def add(code: str, kind: str, draws: Decimal, needs: Decimal) -> None:
        _, drawn, needed = amounts.get(code, (kind, _NONE, _NONE))
        amounts[code] = (kind, drawn + draws, needed + needs)

    for line in lines:
        if line["kind"] != "membrane":
            needed = Decimal(line["needed"]) + Decimal(line["waste"])
            add(line["product"], line["kind"], Decimal(line["from_stock"]), needed)
    whole, offcuts = drawn_rolls(rolls, book)
    for (code, length_mm, _), count in whole.items():
        metres = count * Decimal(length_mm) / 1000
        add(code, "membrane", metres, metres)
    for roll in rolls:
        if not roll["from_stock"]:
            add(roll["product"], "membrane", _NONE, Decimal(roll["length_mm"]) / 1000)
    return {
        "products": {
            code: {"kind": kind, "content": content.get(code, "1"), "draws": str(draws), "needs": str(needs)}
            for code, (kind, draws, needs) in amounts.items()
        },
        "offcuts": [[*size, count] for size, count in offcuts.items()],
        "came": {},
    }


def _refuse_where_short(body: Mapping[str, Any], book: Mapping[str, Any], held: Sequence[Held]) -> None:
    left = left_of(book, held)
    products = {one["code"]: one for one in left["products"]}
    for code, use in body["products"].items():
        draws = Decimal(use["draws"]) / Decimal(use["content"])
        there = Decimal(products[code]["on_hand"]) if code in products else _NONE
        if draws > there + _THOUSANDTH:
            others = [one.reference for one in held if one.products.get(code)]
            raise _short(f"{_figure(draws)} {_unit(products.get(code))}of {code}", _figure(there), others)
    on_hand: Counter[Size] = Counter()
    for one in left["offcuts"]:
        on_hand[one["product"], one["length_mm"], one["width_mm"]] += one["count"]
    for *size, count in body["offcuts"]:
        key = (size[0], size[1], size[2])
        if on_hand[key] < count:
            others = [one.reference for one in held if one.offcuts[key]]
            what = f"{count} offcuts of {key[0]}, {key[1]} × {key[2]} mm" if count > 1 else (
                f"an offcut of {key[0]}, {key[1]} × {key[2]} mm"
            )  # fmt: skip
            raise _short(what, str(on_hand[key]) if on_hand[key] else "none", others)


def _unit(product: Mapping[str, Any] | None) -> str:
    return "" if product is None or product["unit"] == "piece" else f"{product['unit']} "


def _short(what: str, left: str, others: Sequence[str]) -> NotPossibleNow:
    why = f", since {' and '.join(others)} count{'s' if len(others) == 1 else ''} on it too" if others else ""
    return NotPossibleNow(
        "stock_changed",
        f"The plan takes {what} from stock, and {left} of it is left{why}. Plan the job again: it then buys what is "
        "missing. Or mend the stock in the price book.",
    )


def _figure(amount: Decimal) -> str:
    return format(amount.quantize(_THOUSANDTH).normalize(), "f")


def note_what_came(session: Session, account_id: str, run_id: str) -> None:
    """Notes how much the orders of a plan brought so far."""
    row = session.get(SpokenFor, run_id)
    if row is None:
        return
    came: dict[str, Decimal] = {}
    for order in session.scalars(
        select(Order).where(Order.account_id == account_id, Order.run_id == run_id).order_by(Order.number)
    ):
        for (product, size), packs in came_of(order.body, order.state).items():
            came[product] = came.get(product, _NONE) + size * packs
    row.body = {**row.body, "came": {product: str(amount) for product, amount in came.items()}}
    session.flush()


def let_go(session: Session, account_id: str, run_id: str) -> None:
    """Forgets what a plan counts on, once no order of it is left."""
    row = session.get(SpokenFor, run_id)
    left = session.scalar(
        select(Order.id).where(Order.account_id == account_id, Order.run_id == run_id).limit(1)
    )
    if row is not None and left is None:
        session.delete(row)
        session.flush()
