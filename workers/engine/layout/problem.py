"""What a row of bands is chosen from."""

from __future__ import annotations

from dataclasses import dataclass

from workers.engine.layout.rates import Product
from workers.engine.layout.slabs import Span
from workers.engine.layout.steps import Steps

Row = tuple[tuple[int, int], ...]  # (lower edge, index of the product) from the lowest band up


@dataclass(frozen=True, slots=True)
class Chain:
    """Heights to cover from `low` to `high`, the membranes, and what a band or a lap costs at each height."""

    low: int
    high: int
    gaps: tuple[Span, ...]
    lap_mm: int
    products: tuple[Product, ...]
    bands: tuple[Steps, ...]  # by product
    laps: Steps
