"""The linear programme behind column generation: which fillings, how often, at least cost.

Its numbers are floating point and only guide the search; what is reported rests on whole numbers (see `cover`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from highspy import kHighsInf
from highspy._core import _Highs  # the plain solver: the public wrapper prints a banner when it is made

from workers.engine.cutting.problem import Filling, Lengths

_ITERATIONS = 20_000
_LEFT_OUT = 4.0  # cost of a bar left out, in rolls


class Master:
    """Columns are fillings of sources; rows are the bars wanted and the sources that are limited."""

    def __init__(self, problem: Lengths) -> None:
        self.problem = problem
        self.columns: list[tuple[int, Filling]] = []
        self._known: set[tuple[int, Filling]] = set()
        self._using: list[list[int]] = [[] for _ in problem.counts]
        self._limited = [i for i, source in enumerate(problem.sources) if source.limit is not None]
        self._unit = max(1, *(source.cost for source in problem.sources))
        solver = _Highs()
        for name, value in (
            ("output_flag", False),
            ("presolve", "off"),
            ("threads", 1),
            ("simplex_strategy", 4),  # primal: the basis stays feasible when columns are added
            ("simplex_iteration_limit", _ITERATIONS),
        ):
            solver.setOptionValue(name, value)
        nothing, none = np.array([], dtype=np.int32), np.array([], dtype=np.float64)
        for count in problem.counts:
            solver.addRow(float(count), kHighsInf, 0, nothing, none)
        for index in self._limited:
            solver.addRow(-kHighsInf, float(problem.sources[index].limit or 0), 0, nothing, none)
        self._solver = solver
        self._upper: list[float] = []
        # a bar may be left out at a cost far above any roll's: the programme is feasible from the start
        for kind in range(len(problem.counts)):
            solver.addCol(_LEFT_OUT, 0.0, kHighsInf, 1, np.array([kind], dtype=np.int32), np.array([1.0]))
        self._first = len(problem.counts)

    def add(self, source: int, filling: Filling) -> bool:
        """Add a column; False where it is there already."""
        key = (source, filling)
        if key in self._known:
            return False
        self._known.add(key)
        rows = [kind for kind, _ in filling]
        values = [float(many) for _, many in filling]
        if source in self._limited:
            rows.append(len(self.problem.counts) + self._limited.index(source))
            values.append(1.0)
        number = len(self.columns)
        self._solver.addCol(
            self.problem.sources[source].cost / self._unit,
            0.0,
            kHighsInf,
            len(rows),
            np.array(rows, dtype=np.int32),
            np.array(values),
        )
        self._upper.append(kHighsInf)
        self.columns.append(key)
        for kind, _ in filling:
            self._using[kind].append(number)
        return True

    def want(self, counts: Sequence[int], limits: Sequence[int | None], changed: Sequence[int]) -> None:
        """Set what is wanted and what is left of the sources; columns that no longer fit are shut off.

        `changed` are the kinds whose count differs from the last call.
        """
        for kind in changed:
            self._solver.changeRowBounds(kind, float(counts[kind]), kHighsInf)
        for row, index in enumerate(self._limited, start=len(self.problem.counts)):
            self._solver.changeRowBounds(row, -kHighsInf, float(limits[index] or 0))
        for number in sorted({number for kind in changed for number in self._using[kind]}):
            _, filling = self.columns[number]
            upper = 0.0 if any(many > counts[kind] for kind, many in filling) else kHighsInf
            if upper != self._upper[number]:
                self._upper[number] = upper
                self._solver.changeColBounds(self._first + number, 0.0, upper)

    def solve(self) -> tuple[float, list[float], list[float]]:
        """The cost (in units of the dearest source), the price of every kind, how often each column is used."""
        self._solver.run()
        solution = self._solver.getSolution()
        kinds = len(self.problem.counts)
        return (
            float(self._solver.getInfo().objective_function_value),
            [min(_LEFT_OUT, max(0.0, float(dual))) for dual in solution.row_dual[:kinds]],
            [float(value) for value in solution.col_value[self._first :]],
        )

    def cost(self, source: int) -> float:
        """Cost of one of a source in the units of `solve`."""
        return self.problem.sources[source].cost / self._unit

    def rent(self) -> dict[int, float]:
        """What one more of each limited source would save; 0 or less in the programme, turned positive."""
        duals = self._solver.getSolution().row_dual
        kinds = len(self.problem.counts)
        return {index: max(0.0, -float(duals[kinds + row])) for row, index in enumerate(self._limited)}
