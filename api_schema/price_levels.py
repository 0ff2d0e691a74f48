"""A merchant's price levels: by how much the prices of its book differ for its trade customers."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, many, share, text


@dataclass(frozen=True, slots=True)
class PriceLevel:
    """One level."""

    code: Annotated[str, identifier("Its short name.", example="regular")]
    name: Annotated[str, text("What it is called.", example="Regular customers", longest=80)]
    change: Annotated[
        Decimal,
        share(
            "Every price is moved by this part: -0.08 is eight in a hundred off.",
            example="-0.08",
            minimum="-0.95",
            maximum="5",
        ),
    ]


@dataclass(frozen=True, slots=True)
class CustomerLevel:
    """Which level a trade customer buys at."""

    account: Annotated[str, text("The trade customer's account.", example="acc_4Zk0c7tQm2", longest=64)]
    level: Annotated[str, identifier("The level's code.", example="regular")]


@dataclass(frozen=True, slots=True)
class PriceLevels:
    """All levels of a merchant and who buys at which."""

    levels: Annotated[tuple[PriceLevel, ...], many(PriceLevel, "The levels.", most=50)] = ()
    customers: Annotated[
        tuple[CustomerLevel, ...], many(CustomerLevel, "Customers with a level of their own.", most=5000)
    ] = ()
    others: Annotated[
        str | None, identifier("Level of everybody else; null for the book's own prices.", example="regular")
    ] = None
