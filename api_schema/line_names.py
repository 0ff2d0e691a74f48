"""What lines of a price are called, and what a name says, so that a document can say it in its own language."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from api_schema.outputs import OPERATION_WORDS, OperationName

RESERVE = "Hours kept in reserve"
_FROM_STOCK = ", from stock"
_PACK = re.compile(
    r"\A(?P<product>.+), pack of (?P<size>[0-9]+(?:\.[0-9]+)?)(?: (?P<unit>m|ml))?\Z", re.DOTALL
)
_OPERATION_OF: dict[str, OperationName] = {words: operation for operation, words in OPERATION_WORDS.items()}


class Material(NamedTuple):
    """What the name of a line of materials says. Without a size it is counted by itself, not by the pack."""

    product: str
    pack_size: Decimal | None = None
    unit: str = "piece"


def packs_named(product: str, size: Decimal, unit: str) -> str:
    """The name of a line of packs."""
    return f"{product}, pack of {size:f}{'' if unit == 'piece' else f' {unit}'}"


def stock_named(product: str) -> str:
    """The name of a line of what comes from stock."""
    return product + _FROM_STOCK


def material_of(name: str) -> Material:
    """What `packs_named` or `stock_named` was given; any other name as it stands."""
    found = _PACK.match(name)
    if found is not None:
        return Material(found["product"], Decimal(found["size"]), found["unit"] or "piece")
    return Material(name.removesuffix(_FROM_STOCK))


def operation_of(name: str) -> OperationName | None:
    """The operation whose hours a line is for; None for any other line."""
    return _OPERATION_OF.get(name)
