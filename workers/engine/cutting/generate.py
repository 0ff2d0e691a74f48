"""Column generation: fillings that lower the cost of the linear programme, until none is left.

Prices of the programme are scaled to whole numbers before the knapsack sees them, so the bound that comes out is
exact whatever the tolerances of the programme were.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workers.engine.cutting.cover import Cover
from workers.engine.cutting.master import Master
from workers.engine.cutting.pricing import Knapsack
from workers.engine.cutting.problem import Filling, Lengths
from workers.engine.cutting.work import Work

_SCALE = 1 << 26
_EDGE = 1e-7
_COLUMNS_A_ROUND = 8


@dataclass(frozen=True, slots=True)
class Rounds:
    """What column generation came to: cost and use of each column, exact bound, and whether it ran to its end."""

    cost: float
    used: list[float]
    bound: int
    complete: bool


class Generator:
    """Column generation over one problem, whose wants may shrink as fillings are fixed."""

    def __init__(self, problem: Lengths, work: Work) -> None:
        self.problem, self.work = problem, work
        self.master = Master(problem)
        self._classes: dict[tuple[int, ...], list[int]] = {}
        for index, source in enumerate(problem.sources):
            wide = tuple(kind for kind, width in enumerate(problem.widths) if width <= source.width)
            self._classes.setdefault(wide, []).append(index)

    def run(
        self,
        counts: Sequence[int],
        limits: Sequence[int | None],
        *,
        rounds: int,
        enough: float = -1.0,
        stop_at_bound: int | None = None,
    ) -> Rounds:
        """Add columns until the cost is `enough`, a bound of `stop_at_bound` is proven, or none helps."""
        bound = 0
        cost, prices, used = self._solve()
        for turn in range(rounds):
            if cost <= enough or self.work.left <= 0:
                return Rounds(cost, used, bound, complete=False)
            values, added = self._price(counts, prices)
            if not added or (stop_at_bound is not None and turn % 4 == 3):
                worths = [int(price * _SCALE) for price in prices]
                target = sum(worth * count for worth, count in zip(worths, counts, strict=True))
                cover = Cover(self.problem.sources, values, target, limits)
                bound = max(bound, cover.bound())
                self.work.spend(cover.steps * 2_000)
                if stop_at_bound is not None and bound >= stop_at_bound:
                    return Rounds(cost, used, bound, complete=True)
            if not added:
                return Rounds(cost, used, bound, complete=True)
            cost, prices, used = self._solve()
        return Rounds(cost, used, bound, complete=False)

    def _solve(self) -> tuple[float, list[float], list[float]]:
        self.work.spend(150_000 + 60 * len(self.problem.counts) * (len(self.master.columns) // 8 + 20))
        return self.master.solve()

    def _price(self, counts: Sequence[int], prices: Sequence[float]) -> tuple[list[int], int]:
        """The most worth of each source, and how many columns were added."""
        worths = [int(price * _SCALE) for price in prices]
        rent = self.master.rent()
        values = [0] * len(self.problem.sources)
        added = 0
        for kinds, sources in self._classes.items():
            room = max(self.problem.sources[index].length for index in sources)
            here = [kind for kind in kinds if counts[kind] and self.problem.lengths[kind] <= room]
            table = Knapsack(room, here, self.problem.lengths, counts, worths)
            self.work.spend(table.steps)
            for index in sources:
                length = self.problem.sources[index].length
                values[index] = table.worth(length)
                least = (self.master.cost(index) + rent.get(index, 0.0) + _EDGE) * _SCALE
                if values[index] > least:
                    added += self.master.add(index, table.filling(length))
                    added += self._more(index, table, here, least)
        return values, added

    def _more(self, index: int, table: Knapsack, kinds: Sequence[int], least: float) -> int:
        """Further columns of one round: for kinds not yet in one, the best filling with that kind in it."""
        length = self.problem.sources[index].length
        here = [kind for kind in kinds if self.problem.lengths[kind] <= length]
        rest = length - np.array([self.problem.lengths[kind] for kind in here])
        worth = table.best[rest] + np.array([table.worths[kind] for kind in here], dtype=np.int64)
        seen: set[int] = set()
        added = 0
        for at in np.argsort(-worth, kind="stable"):
            if worth[at] <= least or added >= _COLUMNS_A_ROUND:
                break
            kind = here[int(at)]
            if kind in seen:
                continue
            filling = _with_one_more(table.filling(int(rest[at])), kind)
            seen.update(each for each, _ in filling)
            if all(many <= table.counts[each] for each, many in filling):
                added += self.master.add(index, filling)
        return added


def _with_one_more(filling: Filling, kind: int) -> Filling:
    chosen = dict(filling)
    chosen[kind] = chosen.get(kind, 0) + 1
    return tuple(sorted(chosen.items()))
