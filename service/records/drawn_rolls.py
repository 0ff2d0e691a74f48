"""What a cut list draws from the stock it was planned with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

Size = tuple[str, int, int]  # product, length, width in mm


def drawn_rolls(
    rolls: Sequence[Mapping[str, Any]], book: Mapping[str, Any]
) -> tuple[Counter[Size], Counter[Size]]:
    """The whole rolls and the offcuts that `rolls` of a cut list are cut from, as far as they are on hand; JSON both.

    `book` is the price book of the plan. A piece of a whole roll's size is one for as long as whole rolls last.
    """
    left = {
        (product["code"], int(size * 1000), product["width_mm"]): int(Decimal(product["on_hand"]) // size)
        for product in book["products"]
        if product["kind"] == "membrane"
        for size in (Decimal(product["packs"][0]["size"]),)
    }
    whole: Counter[Size] = Counter()
    offcuts: Counter[Size] = Counter()
    for roll in rolls:
        if roll["from_stock"]:
            size_of = (roll["product"], roll["length_mm"], roll["width_mm"])
            kind = whole if whole[size_of] < left.get(size_of, 0) else offcuts
            kind[size_of] += 1
    return whole, offcuts
