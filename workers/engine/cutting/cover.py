"""The cheapest mix of sources with enough in them: the lower bound on cost, in whole numbers.

Give every kind a whole weight w, and let V(s) be the most weight that any one piece of source s can hold. Any plan
that uses y(s) of each source holds all bars, so sum V(s)·y(s) >= sum of all weights: the cheapest whole y is a
lower bound on the cost, whatever the weights are. With the lengths as weights it is the material bound, rounded up
to a cost that can be reached; with the prices of a linear programme it is the column-generation bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from workers.engine.cutting.problem import Source

Mix = tuple[int, ...]  # how many of each source
_STEPS = 8_000


def _ceil(a: int, b: int) -> int:
    return -(-a // b)


class Cover:
    """Mixes of sources that hold a target weight, by increasing cost."""

    def __init__(
        self,
        sources: Sequence[Source],
        values: Sequence[int],
        target: int,
        limits: Sequence[int | None] | None = None,
    ) -> None:
        self._sources, self._values = sources, values
        self._limits = [source.limit for source in sources] if limits is None else list(limits)
        self._base = [0] * len(sources)
        for index, source in enumerate(sources):
            limit = self._limits[index]
            if source.cost == 0 and limit is not None:
                self._base[index] = limit
                target -= limit * values[index]
        self._target = target
        priced = [
            index
            for index, source in enumerate(sources)
            if values[index] > 0 and (source.cost > 0 or self._limits[index] is None)
        ]
        # cheapest by weight first, in exact fractions: the bound below rests on this order
        self._order = sorted(priced, key=lambda i: (Fraction(sources[i].cost, values[i]), i))
        self.steps, self._most = 0, 1
        self._found: list[tuple[int, Mix]] = []

    def _relaxed(self, depth: int, target: int) -> int | None:
        """The least cost of what is left if rolls could be bought in part; None where there is not enough."""
        whole = 0
        for index in self._order[depth:]:
            source, value = self._sources[index], self._values[index]
            limit = self._limits[index]
            if limit is None or limit * value >= target:
                return whole + _ceil(max(0, target) * source.cost, value)
            whole += limit * source.cost
            target -= limit * value
        return None if target > 0 else whole

    def bound(self) -> int:
        """No plan costs less. 0 where what is free holds everything."""
        if self._target <= 0:
            return 0
        relaxed = self._relaxed(0, self._target)
        if relaxed is None:
            return 0
        found = self.mixes(1)
        if self.steps > _STEPS or not found:
            return relaxed
        return found[0][0]

    def mixes(self, most: int) -> list[tuple[int, Mix]]:
        """Up to `most` cheapest mixes that hold the target, cheapest first; fewer where the search was cut short."""
        if self._target <= 0:
            return [(0, tuple(self._base))]
        self.steps, self._most = 0, most
        self._found = []
        self._walk(0, self._target, 0, list(self._base))
        return self._found

    def _walk(self, depth: int, target: int, cost: int, counts: list[int]) -> None:
        self.steps += 1
        if target <= 0:
            self._found = sorted([*self._found, (cost, tuple(counts))])[: self._most]
            return
        relaxed = self._relaxed(depth, target)
        if relaxed is None or self.steps > _STEPS:
            return
        if len(self._found) == self._most and cost + relaxed >= self._found[-1][0]:
            return
        index = self._order[depth]
        source, value = self._sources[index], self._values[index]
        enough = _ceil(target, value)
        limit = self._limits[index]
        top = enough if limit is None else min(enough, limit)
        for many in range(top, -1, -1):
            if self.steps > _STEPS:
                break
            counts[index] = self._base[index] + many
            self._walk(depth + 1, target - many * value, cost + many * source.cost, counts)
        counts[index] = self._base[index]
