"""What came of an order: all of it, or a part of it while the rest is still to come or will never come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from api_schema.order_wish import LineCame
from service.records.errors import NotPossibleNow

PackKey = tuple[str, Decimal]
"""A product and the size of its pack."""


def came_of(body: Mapping[str, Any], state: str) -> dict[PackKey, int]:
    """How many packs of each size came of an order so far."""
    if body.get("came") is not None:
        return _counted(body["came"])
    return _counted(body["lines"]) if state == "received" else {}


def to_come(body: Mapping[str, Any], state: str) -> dict[PackKey, int]:
    """How many packs of each size are still to come."""
    came = came_of(body, state)
    return {key: count - came.get(key, 0) for key, count in _counted(body["lines"]).items()}


def lines_of(packs: Mapping[PackKey, int]) -> list[dict[str, Any]]:
    """Packs as JSON of `api_schema.order.PacksCame`, those there are none of left out."""
    return [
        {"product": product, "pack_size": format(size, "f"), "packs": count}
        for (product, size), count in packs.items()
        if count
    ]


def chosen(lines: Iterable[LineCame], open_: Mapping[PackKey, int]) -> dict[PackKey, int]:
    """What somebody says came, of what was to come.

    Raises:
        NotPossibleNow: `not_so_ordered`, where the order has no such packs, or fewer are to come.
    """
    found: dict[PackKey, int] = {}
    for line in lines:
        sizes = [size for product, size in open_ if product == line.product]
        size = line.pack_size if line.pack_size is not None else sizes[0] if len(sizes) == 1 else None
        key = None if size is None else next((one for one in open_ if one == (line.product, size)), None)
        if key is None:
            known = " or ".join(format(one, "f") for one in sizes)
            raise NotPossibleNow(
                "not_so_ordered",
                f"The order has {line.product} in packs of {known}; say of which size."
                if sizes
                else f"The order has no {line.product}.",
            )
        found[key] = found.get(key, 0) + line.packs
        if found[key] > open_[key]:
            raise NotPossibleNow(
                "not_so_ordered",
                f"{open_[key]} packs of {key[1]:f} of {line.product} were still to come, {found[key]} are said to have "
                "come. Put what came beside the order into the price book's stock.",
            )
    return found


def _counted(lines: Iterable[Mapping[str, Any]]) -> dict[PackKey, int]:
    counted: dict[PackKey, int] = {}
    for line in lines:
        key = (line["product"], Decimal(line["pack_size"]))
        counted[key] = counted.get(key, 0) + line["packs"]
    return counted
