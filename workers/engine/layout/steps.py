"""Functions of a whole-mm position that stay the same over stretches: the price of a band, the price of a lap."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Steps:
    """`keys[i]` holds from `starts[i]` up to the next start; the last one up to and including `last`."""

    starts: list[int]
    keys: list[int]
    last: int

    def at(self, position: int) -> int:
        """The key at a position from the first start to `last`."""
        return self.keys[bisect_right(self.starts, position) - 1]


def steps(starts: list[int], keys: list[int], last: int) -> Steps:
    """Steps with neighbouring stretches of equal key joined."""
    kept_starts: list[int] = []
    kept_keys: list[int] = []
    for start, one in zip(starts, keys, strict=True):
        if not kept_keys or kept_keys[-1] != one:
            kept_starts.append(start)
            kept_keys.append(one)
    return Steps(kept_starts, kept_keys, last)
