"""What an account has in its store: kept in its own price book, or beside its merchant's, which is not its to change."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.records.errors import NotPossibleNow, Stale
from service.records.store import now_of
from service.records.tables import Setting
from service.records.upsert import insert_unless_there

STOCK = "stock"
OFFCUTS = "offcuts"


def stock_beside_merchants(session: Session, account_id: str) -> dict[str, str]:
    """On hand by product, of an account that buys from its merchant's price book."""
    row = session.get(Setting, (account_id, STOCK))
    return {} if row is None else dict(row.body)


def add_to_stock(
    session: Session,
    account_id: str,
    lines: Sequence[Mapping[str, Any]],
    *,
    book: Mapping[str, Any],
    of_merchant: bool,
) -> None:
    """Adds what was delivered (JSON of order lines) to what is on hand: in the account's own price book where it has
    one, beside its merchant's where it buys from that, else in a price book of its own, begun from the defaults.

    `book` is the price book that holds for it now.

    Raises:
        NotPossibleNow: `conflict`, where the price book has a product no more, so that it would be on hand nowhere.
        Stale: somebody changed the price book at the same moment.
    """
    row = _held(session, account_id, "price_book")
    _refuse_unknown(lines, book if row is None else row.body, of_merchant=row is None and of_merchant)
    if row is not None:
        _put(session, row, _with_stock(row.body, lines))
    elif of_merchant:
        _held_or_made(session, account_id, STOCK, {})
        beside = _held(session, account_id, STOCK)
        if beside is None:
            raise Stale(STOCK)
        stocked = _with_stock(book, lines)
        named = {line["product"] for line in lines}
        found = {p["code"]: p["on_hand"] for p in stocked["products"] if p["code"] in named}
        _put(session, beside, {**beside.body, **found})
    else:
        body = _with_stock(book, lines)
        if not _held_or_made(session, account_id, "price_book", body):
            raise Stale("price_book")


def offcuts_beside_merchants(session: Session, account_id: str) -> list[dict[str, Any]]:
    """Offcuts on hand (JSON as in a price book) of an account that buys from its merchant's price book."""
    row = session.get(Setting, (account_id, OFFCUTS))
    return [] if row is None else list(row.body["offcuts"])


def change_book(
    session: Session,
    account_id: str,
    change: Callable[[Mapping[str, Any]], dict[str, Any]],
    *,
    book: Mapping[str, Any],
    of_merchant: bool,
) -> None:
    """Changes what is on hand, products and offcuts, in the same place as `add_to_stock`.

    `book` is the price book that holds for it now; `change` gives a price book with other stock.

    Raises:
        Stale: somebody changed the price book at the same moment.
    """
    row = _held(session, account_id, "price_book")
    if row is not None:
        _put(session, row, change(row.body))
    elif of_merchant:
        _held_or_made(session, account_id, STOCK, {})
        _held_or_made(session, account_id, OFFCUTS, {"offcuts": []})
        stock, offcuts = _held(session, account_id, STOCK), _held(session, account_id, OFFCUTS)
        if stock is None or offcuts is None:
            raise Stale(STOCK)
        now = {
            **book,
            "products": [
                {**product, "on_hand": stock.body.get(product["code"], "0")} for product in book["products"]
            ],
            "offcuts": offcuts.body["offcuts"],
        }
        changed = change(now)
        found = {product["code"]: product["on_hand"] for product in changed["products"]}
        before = {product["code"]: product["on_hand"] for product in now["products"]}
        moved = {code: on_hand for code, on_hand in found.items() if on_hand != before[code]}
        _put(session, stock, {**stock.body, **moved})
        _put(session, offcuts, {"offcuts": changed["offcuts"]})
    elif not _held_or_made(session, account_id, "price_book", change(book)):
        raise Stale("price_book")


def _refuse_unknown(
    lines: Sequence[Mapping[str, Any]], book: Mapping[str, Any], *, of_merchant: bool
) -> None:
    known = {product["code"] for product in book["products"]}
    gone = sorted({line["product"] for line in lines} - known)
    if gone:
        whose = "Your merchant's" if of_merchant else "Your"
        back = "have it put back" if of_merchant else "put it back"
        raise NotPossibleNow(
            "conflict",
            f"{whose} price book has no {' and no '.join(gone)} any more, so what came of it would be on hand nowhere: "
            f"{back} there first, or note what came of the rest and that no more is coming.",
        )


def _with_stock(book: Mapping[str, Any], lines: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    delivered: dict[str, Decimal] = {}
    for line in lines:
        amount = Decimal(line["pack_size"]) * line["packs"]
        delivered[line["product"]] = delivered.get(line["product"], Decimal(0)) + amount
    return {**book, "products": [_stocked(product, delivered) for product in book["products"]]}


def _stocked(product: Mapping[str, Any], delivered: Mapping[str, Decimal]) -> dict[str, Any]:
    amount = delivered.get(product["code"], Decimal(0))
    if not amount:
        return dict(product)
    if product["kind"] == "sealant" and product["unit"] == "piece" and product["millilitres"]:
        amount /= Decimal(product["millilitres"])  # ordered in millilitres, kept in cartridges
    on_hand = (Decimal(product["on_hand"]) + amount).quantize(Decimal("0.001")).normalize()
    return {**product, "on_hand": format(on_hand, "f")}


def _held(session: Session, account_id: str, name: str) -> Setting | None:
    """The setting, held against others until this transaction ends."""
    return session.scalar(
        select(Setting)
        .where(Setting.account_id == account_id, Setting.name == name)
        .with_for_update()
        .execution_options(populate_existing=True)
    )


def _held_or_made(session: Session, account_id: str, name: str, body: dict[str, Any]) -> bool:
    return insert_unless_there(
        session, Setting, account_id=account_id, name=name, body=body, version=1, updated_at=now_of(session)
    )


def _put(session: Session, row: Setting, body: dict[str, Any]) -> None:
    changed = session.execute(
        update(Setting)
        .where(Setting.account_id == row.account_id, Setting.name == row.name, Setting.version == row.version)
        .values(body=body, version=row.version + 1, updated_at=now_of(session))
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale(row.name)
