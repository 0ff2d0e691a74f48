"""A table as it came out of a file: rows of cells, and what the file itself shows of how it was written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

MOST_ROWS = 5000
"""Beside the heading."""
MOST_CELLS = 500
"""In a row; a table has far fewer columns, and some programs write empty cells behind them."""
LONGEST_CELL = 2000


@dataclass(slots=True)
class Table:
    """Its rows, heading first; they can be gone through once, and may raise `BadTable` on the way."""

    rows: Iterator[Sequence[str]]
    separator: str
    letters: str = ""

    def __iter__(self) -> Iterator[Sequence[str]]:
        return self.rows

    def __next__(self) -> Sequence[str]:
        return next(self.rows)
