"""The tax rates an account reckons with, by name: its standard one and those it names beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, share, text
from api_schema.provenance import PROVENANCE_KINDS, ProvenanceKind

TaxCategory = Literal["S", "AA", "Z", "E", "AE"]
TAX_CATEGORIES: tuple[TaxCategory, ...] = ("S", "AA", "Z", "E", "AE")
"""Codes of UN/EDIFACT data element 5305: standard rate, lower rate, zero rated, exempt, reverse charge."""
WITHOUT_TAX: tuple[TaxCategory, ...] = ("Z", "E", "AE")
STANDARD = "standard"
"""The code of the standard rate, whose figure stands in the rules of the price book."""


@dataclass(frozen=True, slots=True)
class TaxRate:
    """A tax rate beside the standard one, to be named by products, charges, jobs and quotes."""

    code: Annotated[str, identifier("Its code.", example="reduced")]
    name: Annotated[str, text("What it is called on documents.", example="reduced", shortest=1, longest=60)]
    rate: Annotated[Decimal, share("The rate.", example="0.05", maximum="1")]
    category: Annotated[
        TaxCategory,
        choice(
            "UN/EDIFACT 5305: S standard rate, AA lower rate, Z zero rated, E exempt, AE reverse charge (the customer owes the tax).",
            TAX_CATEGORIES,
            example="AA",
        ),
    ]
    provenance: Annotated[
        ProvenanceKind, choice("Where it comes from.", PROVENANCE_KINDS, example="invented")
    ] = "invented"


def standard_rate(rate: Decimal, provenance: ProvenanceKind = "invented") -> TaxRate:
    """The standard rate as a record; a standard rate of nothing counts as zero rated."""
    return TaxRate(STANDARD, STANDARD, rate, "S" if rate else "Z", provenance)


def rates_by_code(standard: Decimal, named: Iterable[TaxRate]) -> dict[str, TaxRate]:
    """Every rate by its code, the standard one first, the rest as the price book lists them."""
    return {STANDARD: standard_rate(standard), **{rate.code: rate for rate in named if rate.code != STANDARD}}
