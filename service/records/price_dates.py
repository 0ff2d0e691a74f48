"""Prices that hold for some time only: what of a price book is in force on a day."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any


def in_force(book: Mapping[str, Any], day: datetime.date) -> dict[str, Any]:
    """The price book (JSON) with the packs whose price is in force that day.

    A product none of whose prices is in force keeps those that ended or begin nearest, so that it can still be planned with; `as_of`
    lets the plan warn of them. A book without dates stays as it is.
    """
    if not any(
        pack.get("valid_from") or pack.get("valid_until") for p in book["products"] for pack in p["packs"]
    ):
        return dict(book)
    products = [
        {**product, "packs": _packs(product["packs"], day.isoformat())} for product in book["products"]
    ]
    return {**book, "products": products, "as_of": day.isoformat()}


def _packs(packs: list[dict[str, Any]], day: str) -> list[dict[str, Any]]:
    holding = [pack for pack in packs if _begun(pack, day) and not _over(pack, day)]
    if holding:
        return holding
    ended = [pack for pack in packs if _over(pack, day)]
    if ended:
        last = max(pack["valid_until"] for pack in ended)
        return [pack for pack in ended if pack["valid_until"] == last]
    first = min(pack["valid_from"] for pack in packs)
    return [pack for pack in packs if pack["valid_from"] == first]


def _begun(pack: dict[str, Any], day: str) -> bool:
    return not pack.get("valid_from") or pack["valid_from"] <= day


def _over(pack: dict[str, Any], day: str) -> bool:
    return bool(pack.get("valid_until")) and pack["valid_until"] < day
