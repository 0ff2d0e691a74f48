"""Numbers that look random and are the same every time."""

from __future__ import annotations


class Dice:
    """A linear congruential sequence from a fixed start; no state is shared."""

    def __init__(self, seed: int) -> None:
        self._state = seed * 2_654_435_761 % 2**32 + 1

    def below(self, top: int) -> int:
        """The next number from 0 to top - 1."""
        self._state = (self._state * 1_664_525 + 1_013_904_223) % 2**32
        return (self._state >> 8) % top
