"""Whoever changes a default makes it theirs: edited values lose "published" or "memory" and become "yours"."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from api_schema.outputs import Condition, Output, Outputs
from api_schema.price_book import PriceBook, PriceRules, Product
from api_schema.provenance import Provenance
from api_schema.standard import Standard
from api_schema.tax import TaxRate

Sourced = TypeVar("Sourced", Output, Condition, Product, PriceRules, TaxRate)
ByName = TypeVar("ByName", Standard, Outputs)
_SOURCED_THEMSELVES = ("provenance", "operations", "conditions")


def of_edit(old: Any, new: Any) -> Any:
    """`new` with the provenance of whatever differs from `old` set to "yours".

    A provenance that the edit itself changed stays as the edit says.
    """
    if isinstance(new, Standard):
        return _by_name(old, new)
    if isinstance(new, Outputs):
        return dataclasses.replace(
            _by_name(old, new),
            operations=_each(old.operations, new.operations, lambda output: output.operation),
            conditions=_each(old.conditions, new.conditions, lambda condition: condition.name),
        )
    if isinstance(new, PriceBook):
        return dataclasses.replace(
            new,
            products=_each(old.products, new.products, lambda product: product.code),
            rules=_one(old.rules, new.rules),
            tax_rates=_each(old.tax_rates, new.tax_rates, lambda rate: rate.code),
        )
    raise TypeError(f"{type(new).__name__} has no provenance")


def _by_name(old: ByName, new: ByName) -> ByName:
    """Of values whose provenance stands beside them, by their names."""
    before = {entry.of: entry for entry in old.provenance}
    sourced = {entry.of: entry for entry in new.provenance}
    for name in [member.name for member in dataclasses.fields(new) if member.name not in _SOURCED_THEMSELVES]:
        if getattr(old, name) == getattr(new, name):
            continue
        if sourced.get(name) == before.get(name):
            sourced[name] = Provenance(name, "yours")
    return dataclasses.replace(new, provenance=tuple(sourced.values()))


def _each(
    old: Iterable[Sourced], new: Iterable[Sourced], name_of: Callable[[Sourced], str]
) -> tuple[Sourced, ...]:
    before = {name_of(entry): entry for entry in old}
    return tuple(_one(before.get(name_of(entry)), entry) for entry in new)


def _one(old: Sourced | None, new: Sourced) -> Sourced:
    if old == new or (old is not None and old.provenance != new.provenance):
        return new
    return dataclasses.replace(new, provenance="yours")
