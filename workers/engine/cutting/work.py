"""The budget of work of one cutting plan."""

from __future__ import annotations

STEPS = 3_000_000_000


class Work:
    """Steps of work left, about a nanosecond each: a bound that does not depend on the clock."""

    def __init__(self, steps: int) -> None:
        self.left = steps

    def spend(self, steps: int) -> None:
        """Count work done."""
        self.left -= steps
