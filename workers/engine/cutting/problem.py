"""The bare problem inside a cutting plan: kinds of bars, how many of each, and the sources they are cut from.

A *bar* is a length cut across a roll: one piece, or a section in which several narrow pieces lie side by side.
All lengths of one problem are divided by their greatest common divisor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

Filling = tuple[tuple[int, int], ...]  # (kind, how many), longest kind first
Packing = list[tuple[int, Filling]]  # one entry an opened roll or offcut: (source, what is cut from it)


@dataclass(frozen=True, slots=True)
class Source:
    """Rolls or offcuts alike. `cost` is money and rolls opened in one whole number, money first."""

    length: int
    width: int
    cost: int
    limit: int | None


@dataclass(frozen=True, slots=True)
class Lengths:
    """Bars wanted, longest first, and where they may come from."""

    lengths: tuple[int, ...]
    widths: tuple[int, ...]
    counts: tuple[int, ...]
    sources: tuple[Source, ...]

    def fits(self, source: Source) -> tuple[int, ...]:
        """The kinds that one source can give, longest first."""
        return tuple(
            kind
            for kind, (length, width) in enumerate(zip(self.lengths, self.widths, strict=True))
            if length <= source.length and width <= source.width
        )

    def part(self, kinds: Sequence[int], counts: Sequence[int], used: Sequence[int]) -> Lengths:
        """The problem with some kinds and counts only, and without the sources already used."""
        return Lengths(
            tuple(self.lengths[kind] for kind in kinds),
            tuple(self.widths[kind] for kind in kinds),
            tuple(counts),
            tuple(
                replace(source, limit=None if source.limit is None else source.limit - gone)
                for source, gone in zip(self.sources, used, strict=True)
            ),
        )


@dataclass(frozen=True, slots=True)
class Answer:
    """A packing with its cost and the cost that none can go below."""

    packing: Packing
    cost: int
    bound: int


def cost_of(packing: Packing, sources: tuple[Source, ...]) -> int:
    """Sum of the sources' costs."""
    return sum(sources[source].cost for source, _ in packing)
