"""What a customer may choose of a quote, in words, and the price of every choice, ready to be shown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from api_schema.price import Price, is_rounded_by_line
from api_schema.shape import load
from service.pages.html import money
from service.pages.wording import GROUP_WORDS

ON_PAPER = {**GROUP_WORDS, "minimum": "Up to our minimum charge"}
"""Groups of a price as the customer's sheet calls them."""


def alternatives_shown(body: Mapping[str, Any], language: str) -> list[dict[str, Any]]:
    """Each alternative of a quote with its difference in words and what it cannot be chosen with."""
    alternatives = body.get("alternatives", ())
    names = {one["code"]: one["name"] for one in alternatives}
    currency = body["price"]["currency"] if body["price"] else ""
    return [
        {
            "code": one["code"],
            "name": one["name"],
            "description": one["description"],
            "excludes": one["excludes"],
            "not_with": [names[code] for code in one["excludes"]],
            "difference": _difference(one, currency, language, taxed=bool(body["price"]["tax"]))
            if body["price"]
            else "",
        }
        for one in alternatives
    ]


def _difference(alternative: Mapping[str, Any], currency: str, language: str, *, taxed: bool) -> str:
    net, total = Decimal(alternative["net_difference"]), Decimal(alternative["total_difference"])
    if not net and not total:
        return "at the same price"
    if not taxed:
        return _more(total, currency, language)
    return f"{_more(total, currency, language)} with tax ({_more(net, currency, language)} before tax)"


def _more(amount: Decimal, currency: str, language: str) -> str:
    return f"{money(abs(amount), currency, language)} {'less' if amount < 0 else 'more'}"


def prices_shown(body: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The price of every choice, that of none first, with one sum for each group of lines as on the customer's sheet."""
    choices = [{"chosen": [], "price": body["price"]}, *body.get("combinations", ())]
    return [
        {
            "codes": ",".join(one["chosen"]),
            "price": one["price"],
            "groups": _groups(one["price"]),
            "rounded_by_line": is_rounded_by_line(load(Price, one["price"])),
        }
        for one in choices
    ]


def _groups(price: Mapping[str, Any]) -> list[tuple[str, Decimal]]:
    sums: dict[str, Decimal] = {}
    for line in price["lines"]:
        sums[line["group"]] = sums.get(line["group"], Decimal(0)) + Decimal(line["amount"])
    return [(ON_PAPER[group], amount) for group, amount in sums.items()]


def names_of(body: Mapping[str, Any], chosen: Iterable[str] | None) -> list[str]:
    """The names of the alternatives chosen, in the order of the quote."""
    wanted: Sequence[str] = list(chosen or ())
    return [one["name"] for one in body.get("alternatives", ()) if one["code"] in wanted]
