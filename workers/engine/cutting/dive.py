"""Diving: fix the fillings the linear programme likes best, price again, and so down to a whole plan."""

from __future__ import annotations

from collections.abc import Sequence

from workers.engine.cutting.dice import Dice
from workers.engine.cutting.fill import repeats, take
from workers.engine.cutting.generate import Generator
from workers.engine.cutting.problem import Filling, Packing
from workers.engine.cutting.within import fill_within

_EPS = 1e-6
_TRY_FILL_UNDER = 160  # bars left


class Dive:
    """One way down; `allowed` is the most a plan may cost to be of use."""

    def __init__(self, generator: Generator, allowed: int, dice: Dice | None) -> None:
        self._generator, self._allowed, self._dice = generator, allowed, dice
        self._problem = generator.problem
        self._fits = [self._problem.fits(source) for source in self._problem.sources]
        self._unit = max(1, *(source.cost for source in self._problem.sources))
        self._left = list(self._problem.counts)
        self._limits = [source.limit for source in self._problem.sources]
        self._fixed: Packing = []
        self._spent = 0

    def go(self, rounds: int) -> Packing | None:
        """A packing that costs at most `allowed`, or None."""
        everything = range(len(self._left))
        self._generator.master.want(self._left, self._limits, everything)
        while any(self._left) and self._generator.work.left > 0:
            room = (self._allowed - self._spent) / self._unit + _EPS
            result = self._generator.run(self._left, self._limits, rounds=rounds, enough=room)
            if result.cost > room:
                return None
            changed = self._fix(result.used)
            if not changed:
                return None
            if self._spent > self._allowed:
                return None
            if sum(self._left) <= _TRY_FILL_UNDER:
                rest = self._fill_rest()
                if rest is not None:
                    return self._fixed + rest
            self._generator.master.want(self._left, self._limits, sorted(changed))
        return None

    def _fix(self, used: Sequence[float]) -> set[int]:
        """Fix whole parts; where there are none, the column used most (shaken by the dice)."""
        columns = self._generator.master.columns
        changed: set[int] = set()
        ranked = sorted(
            (-(value + (self._dice.below(1000) / 3000 if self._dice else 0.0)), number)
            for number, value in enumerate(used)
            if value > _EPS
        )
        for number, value in [(number, used[number]) for _, number in ranked]:
            if value >= 1 - _EPS:
                changed |= self._take(*columns[number], int(value + _EPS))
        if changed:
            return changed
        for count, (_, number) in enumerate(ranked):
            if count and used[number] < 0.75:
                break
            changed |= self._take(*columns[number], 1)
        return changed

    def _take(self, source: int, filling: Filling, times: int) -> set[int]:
        times = min(times, repeats(filling, self._left))
        limit = self._limits[source]
        if limit is not None:
            times = min(times, limit)
            self._limits[source] = limit - times
        if times <= 0:
            return set()
        take(filling, self._left, times)
        self._fixed.extend([(source, filling)] * times)
        self._spent += self._problem.sources[source].cost * times
        return {kind for kind, _ in filling}

    def _fill_rest(self) -> Packing | None:
        self._generator.work.spend(300_000)
        return fill_within(self._problem, self._fits, self._left, self._limits, self._allowed - self._spent)
