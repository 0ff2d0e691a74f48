"""What a row of bands is chosen from."""

from __future__ import annotations

from dataclasses import dataclass

from workers.engine.layout.prices import Prices
from workers.engine.layout.rates import Product
from workers.engine.layout.slabs import Span

Row = tuple[tuple[int, int], ...]  # (lower edge, index of the product) from the lowest band up


@dataclass(frozen=True, slots=True)
class Chain:
    """Heights to cover from `low` to `high`, the membranes, and what a band or a lap costs at each height."""

    start: int  # the lowest position of any band that meets the region
    low: int
    high: int
    gaps: tuple[Span, ...]
    lap_mm: int
    products: tuple[Product, ...]
    bands: tuple[Prices, ...]  # by product
    laps: Prices
