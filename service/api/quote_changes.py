"""Two revisions of a quote, side by side: what is not alike."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from api_schema.price import Price, PriceLine
from api_schema.quote_more import LineChange, OtherChange, QuoteChanges
from api_schema.shape import load
from service.records.tables import Quote

_COMPARED = ("reference", "title", "customer", "valid_until", "terms", "introduction", "options")
_OF_ALTERNATIVES = ("code", "description", "collars", "fixing", "access_charge", "total_difference")
_Key = tuple[str, str, int]
_Body = Mapping[str, Any]


def changes(quote: Quote, previous: Quote | None) -> QuoteChanges:
    """What changed from the revision before; everything is alike where there is none."""
    now = _price(quote.body)
    before = None if previous is None else _price(previous.body)
    return QuoteChanges(
        quote=quote.id,
        revision=quote.revision,
        previous=None if previous is None else previous.id,
        previous_revision=None if previous is None else previous.revision,
        lines=tuple(_lines(before, now)) if before is not None and now is not None else (),
        others=() if previous is None else tuple(_others(previous.body, quote.body)),
        net_before=None if before is None else before.net,
        net_now=None if now is None else now.net,
        total_before=None if before is None else before.total,
        total_now=None if now is None else now.total,
    )


def _price(body: Mapping[str, Any]) -> Price | None:
    return None if body["price"] is None else load(Price, body["price"])


def _lines(before: Price, now: Price) -> Iterator[LineChange]:
    old, new = dict(_named(before)), dict(_named(now))
    for key in dict.fromkeys([*new, *old]):
        was, is_ = old.get(key), new.get(key)
        if was is not None and is_ is not None and (was.quantity, was.amount) == (is_.quantity, is_.amount):
            continue
        one = is_ or was
        if one is None:
            continue
        yield LineChange(
            group=one.group,
            name=one.name,
            quantity_before=None if was is None else was.quantity,
            quantity_now=None if is_ is None else is_.quantity,
            amount_before=None if was is None else was.amount,
            amount_now=None if is_ is None else is_.amount,
            difference=_amount(is_) - _amount(was),
        )


def _named(price: Price) -> Iterator[tuple[_Key, PriceLine]]:
    """Lines by group and name; the second of one name is told from the first by its place."""
    seen: Counter[tuple[str, str]] = Counter()
    for line in price.lines:
        seen[line.group, line.name] += 1
        yield (line.group, line.name, seen[line.group, line.name]), line


def _amount(line: PriceLine | None) -> Decimal:
    return Decimal(0) if line is None else line.amount


def _others(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[OtherChange]:
    for name in _COMPARED:
        was, is_ = before.get(name), now.get(name)
        if isinstance(was, dict) and isinstance(is_, dict):
            for inner in dict.fromkeys([*was, *is_]):
                if was.get(inner) != is_.get(inner):
                    yield OtherChange(f"/{name}/{inner}", _said(was.get(inner)), _said(is_.get(inner)))
        elif was != is_:
            yield OtherChange(f"/{name}", _said(was), _said(is_))
    yield from _alternatives(before.get("alternatives", ()), now.get("alternatives", ()))


def _alternatives(before: Sequence[_Body], now: Sequence[_Body]) -> Iterator[OtherChange]:
    """By their names, which are what the customer knows them by; one that is gone stands at its place of before."""
    former = {one["name"]: one for one in before}
    for place, one in enumerate(now):
        was = former.pop(one["name"], None)
        if was is None:
            yield OtherChange(f"/alternatives/{place}", "", _offer(one))
            continue
        for name in _OF_ALTERNATIVES:
            if was[name] != one[name]:
                yield OtherChange(f"/alternatives/{place}/{name}", _said(was[name]), _said(one[name]))
    for place, one in enumerate(before):
        if one["name"] in former:
            yield OtherChange(f"/alternatives/{place}", _offer(one), "")


def _offer(alternative: _Body) -> str:
    """An alternative in one line; without its difference while that is not known."""
    more = alternative["total_difference"]
    return str(alternative["name"]) if more is None else f"{alternative['name']}, total {Decimal(more):+}"


def _said(value: Any) -> str:
    if value is None:
        return ""
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
