"""A merchant's price book as one of its trade customers sees it: at the customer's price level, with its own stock.

Levels stand in a setting of the merchant's, `price_levels` (JSON of `api_schema.price_levels.PriceLevels`).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from sqlalchemy.orm import Session

from api_schema.currency import minor_unit
from service.records.errors import Stale
from service.records.stock import offcuts_beside_merchants, stock_beside_merchants
from service.records.store import now_of
from service.records.tables import Account, Setting
from service.records.upsert import insert_unless_there

LEVELS = "price_levels"
_EMPTY: dict[str, Any] = {"levels": [], "customers": [], "others": None}


def get_levels(session: Session, merchant_id: str) -> tuple[dict[str, Any], int]:
    """The merchant's price levels and their version; none and 0 where it made none."""
    row = session.get(Setting, (merchant_id, LEVELS))
    return (_EMPTY, 0) if row is None else (row.body, row.version)


def put_levels(session: Session, merchant_id: str, body: dict[str, Any], *, if_version: int) -> int:
    """Stores them; gives the new version. Raises Stale where `if_version` has passed."""
    row = session.get(Setting, (merchant_id, LEVELS), with_for_update=True, populate_existing=True)
    if row is None:
        if if_version or not insert_unless_there(
            session,
            Setting,
            account_id=merchant_id,
            name=LEVELS,
            body=body,
            version=1,
            updated_at=now_of(session),
        ):
            raise Stale(LEVELS)
        return 1
    if row.version != if_version:
        raise Stale(LEVELS)
    row.body, row.version, row.updated_at = body, if_version + 1, now_of(session)
    session.flush()
    return row.version


def served_book(session: Session, customer: Account, merchants_book: Mapping[str, Any]) -> dict[str, Any]:
    """The merchant's book for this customer: every price moved by its level, the customer's stock in place of the
    merchant's, the customer's offcuts in place of the merchant's.
    """
    levels, _ = get_levels(session, str(customer.merchant_id))
    change = _change_for(levels, customer.id)
    step = minor_unit(merchants_book["currency"])
    on_hand = stock_beside_merchants(session, customer.id)
    products = [
        {
            **product,
            "on_hand": on_hand.get(product["code"], "0"),
            "packs": [_moved(pack, change, step) for pack in product["packs"]],
        }
        for product in merchants_book["products"]
    ]
    codes = {product["code"] for product in products}
    offcuts = [one for one in offcuts_beside_merchants(session, customer.id) if one["product"] in codes]
    return {**merchants_book, "products": products, "offcuts": offcuts}


def _change_for(levels: Mapping[str, Any], customer_id: str) -> Decimal:
    code = next(
        (one["level"] for one in levels["customers"] if one["account"] == customer_id), levels["others"]
    )
    return next((Decimal(one["change"]) for one in levels["levels"] if one["code"] == code), Decimal(0))


def _moved(pack: Mapping[str, Any], change: Decimal, step: Decimal) -> dict[str, Any]:
    """The pack with its prices moved, rounded half-even to the currency's minor unit, or as finely as they were."""
    if not change:
        return dict(pack)

    def moved(price: str) -> str:
        before = Decimal(price)
        finest = min(step, Decimal(1).scaleb(int(before.normalize().as_tuple().exponent)))
        return format((before * (1 + change)).quantize(finest, ROUND_HALF_EVEN), "f")

    breaks = [{**step, "price": moved(step["price"])} for step in pack["breaks"]]
    return {**pack, "price": moved(pack["price"]), "breaks": breaks}
