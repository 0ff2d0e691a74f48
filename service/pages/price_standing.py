"""Whether the prices of a plan are the firm's own, and still those of its price book: told before a quote goes out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal

from service.pages.serving import Visit
from service.records import tables
from service.records.own_values import get_snapshot, get_value
from service.records.price_dates import in_force
from service.records.store import now_of

Standing = Literal["", "invented", "older"]


def standing_of(visit: Visit, run: tables.Run, quotes: Iterable[tables.Quote]) -> Standing:
    """What is to be said of the prices a plan was made with; nothing once a customer accepted them."""
    if any(quote.state == "accepted" for quote in quotes):
        return ""
    book = get_value(visit.session, visit.account_id, "price_book")
    planned = get_snapshot(visit.session, visit.account_id, run.snapshots["price_book"])
    standing = compared(planned, in_force(book.body, now_of(visit.session).date()))
    return "" if standing == "invented" and book.source == "merchant" else standing


def compared(planned: Mapping[str, Any], book: Mapping[str, Any]) -> Standing:
    """ "older" where the book has other prices by now, "invented" where none was ever put in; stock does not count."""
    if _prices(planned) != _prices(book):
        return "older"
    started_with = {one["provenance"] for one in (*book["products"], book["rules"])}
    return "invented" if started_with == {"invented"} else ""


def _prices(book: Mapping[str, Any]) -> dict[str, Any]:
    """Prices by product, and the rules; the tax rate may come from the account, and is in the plan already."""
    rules = {name: value for name, value in book["rules"].items() if name != "tax_rate"}
    return {"": rules, **{product["code"]: product["packs"] for product in book["products"]}}
