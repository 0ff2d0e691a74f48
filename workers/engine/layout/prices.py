"""What a band or a lap costs at every whole millimetre, as columns of numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.engine.layout.rates import FORBIDDEN, NEVER, joined_key

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Prices:
    """Row i holds for height `first` + i: the cost in units, and pieces and lap metres as one tie-breaking number."""

    first: int
    costs: Whole
    ties: Whole

    @property
    def last(self) -> int:
        """The highest height with a price."""
        return self.first + len(self.costs) - 1

    def put(self, first: int, after: int, cost: int | Whole, tie: int | Whole) -> None:
        """Set the price of the heights from `first` up to, not including, `after`."""
        self.costs[first - self.first : after - self.first] = cost
        self.ties[first - self.first : after - self.first] = tie

    def keys(self, heights: list[int]) -> list[int]:
        """Keys at some heights; never where there is no price or a lap is forbidden."""
        begin, last = self.first, self.last
        rows = [height - begin for height in heights if begin <= height <= last]
        costs, ties = self.costs[rows].tolist(), self.ties[rows].tolist()
        found = [
            NEVER if cost >= FORBIDDEN else joined_key(cost, tie)
            for cost, tie in zip(costs, ties, strict=True)
        ]
        if len(rows) == len(heights):
            return found
        rest = iter(found)
        return [next(rest) if begin <= height <= last else NEVER for height in heights]


def no_prices(first: int, last: int) -> Prices:
    """Prices to be filled in, for the heights from `first` to `last`."""
    return Prices(
        first, np.zeros(last - first + 1, dtype=np.int64), np.zeros(last - first + 1, dtype=np.int64)
    )
