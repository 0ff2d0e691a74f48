"""The bare problem of one product, widths included."""

from __future__ import annotations

from dataclasses import dataclass

from workers.engine.cutting.problem import Source
from workers.engine.cutting.sections import Section


@dataclass(frozen=True, slots=True)
class Sizes:
    """Kinds of piece (length, width) longest first, how many of each, and the sources."""

    lengths: tuple[int, ...]
    widths: tuple[int, ...]
    counts: tuple[int, ...]
    sources: tuple[Source, ...]


Cutting = list[tuple[int, list[Section]]]  # each opened roll or offcut: source, sections in order
