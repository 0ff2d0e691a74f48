"""Where the strips lie: the cheapest layout of every surface, with its bound and the reason in words.

Here belongs everything from an outline to strips, pieces, laps and end laps. Cutting the pieces from rolls, and
counting tape and staples, belong to their own rooms. Reading order: edges (allowances), offset and region (what is
to be covered), slabs (how it is measured), pieces, bands and laps (what a strip costs at each position), chain
(the cheapest row of strips), solve (both directions), describe (the record), others (layouts nearly as good).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from api_schema.job import Job
from api_schema.layout import Layout, SurfaceLayout
from api_schema.standard import Standard
from api_schema.surface import Surface
from workers.engine.costs import LayoutCosts
from workers.engine.layout.describe import describe, describe_row
from workers.engine.layout.edges import allowances_of, choose_returns, edge_records, roles_of
from workers.engine.layout.others import others
from workers.engine.layout.rates import LayoutError, rates_of
from workers.engine.layout.solve import Solved, solve

__all__ = ["Laying", "LayoutError", "alternatives", "lay", "lay_out"]


@dataclass(frozen=True, slots=True)
class Laying:
    """A layout of a whole job, and what was found on the way to it."""

    layout: Layout
    _surfaces: Mapping[str, Surface]
    _solved: Mapping[str, Solved]
    _minor_unit: Decimal

    def alternatives(self, surface: str, *, most: int = 6) -> tuple[SurfaceLayout, ...]:
        """Up to `most` layouts of a surface with the edges chosen for it, cheapest first.

        No two of one direction are cut into the same pieces; both directions are among them where both are
        possible. `proven` is true of those that cost as little as any.
        """
        chosen = next(one for one in self.layout.surfaces if one.id == surface)
        return _alternatives(self._surfaces[surface], chosen, self._solved[surface], self._minor_unit, most)


def lay_out(job: Job, standard: Standard, costs: LayoutCosts) -> Layout:
    """The cheapest layout of every surface of a job; see `lay`."""
    return lay(job, standard, costs).layout


def lay(job: Job, standard: Standard, costs: LayoutCosts) -> Laying:
    """The cheapest layout of every surface of a job, with others beside it for whoever cuts the rolls.

    The job must be free of survey faults. Cost and bound of a surface hold for the allowances in its record.
    The layout's cost is the sum of its surfaces' costs as stated.

    Raises:
        LayoutError: where the membranes or the standard make it impossible; the message says what to change.
    """
    rates = rates_of(costs, standard)
    surfaces = {surface.id: surface for surface in job.surfaces}
    known: dict[object, Solved] = {}

    def solved(name: str, allowances: tuple[int, ...]) -> Solved:
        surface = surfaces[name]
        alike = (_shape_of(surface), allowances)
        if alike not in known:
            known[alike] = solve(surface, allowances, standard, rates)
        return known[alike]

    roles = roles_of(job)
    choose_returns(job, roles, standard, lambda name, allowances: solved(name, allowances).best.cost)
    best = {
        surface.id: solved(surface.id, allowances_of(roles[surface.id], standard)) for surface in job.surfaces
    }
    laid = tuple(
        describe(surface, best[surface.id], edge_records(roles[surface.id], standard), costs.minor_unit)
        for surface in job.surfaces
    )
    layout = Layout(
        surfaces=laid,
        cost=sum((one.cost for one in laid), Decimal(0)),
        bound=sum((one.bound for one in laid), Decimal(0)),
        proven=all(one.proven for one in laid),
    )
    return Laying(layout, surfaces, best, costs.minor_unit)


def alternatives(
    surface: Surface, chosen: SurfaceLayout, standard: Standard, costs: LayoutCosts, *, most: int = 6
) -> tuple[SurfaceLayout, ...]:
    """As `Laying.alternatives`, for one surface by itself.

    Raises:
        LayoutError: as `lay`.
    """
    allowances = tuple(edge.allowance_mm for edge in chosen.edges)
    solved = solve(surface, allowances, standard, rates_of(costs, standard))
    return _alternatives(surface, chosen, solved, costs.minor_unit, most)


def _alternatives(
    surface: Surface, chosen: SurfaceLayout, solved: Solved, minor_unit: Decimal, most: int
) -> tuple[SurfaceLayout, ...]:
    rows = [
        (key, replace(laid, key=key, row=row))
        for laid in (solved.best, solved.other)
        if laid is not None
        for key, row in others(laid)
    ]
    rows.sort(key=lambda row: row[0])
    return tuple(describe_row(surface, solved, laid, chosen.edges, minor_unit) for _, laid in rows[:most])


def _shape_of(surface: Surface) -> tuple[object, ...]:
    """All of a surface that its layout depends on."""
    return (
        surface.outline_mm,
        surface.members,
        surface.run,
        tuple(opening.outline_mm for opening in surface.openings),
        tuple((p.at_mm, p.diameter_mm, p.width_mm, p.height_mm) for p in surface.penetrations),
    )
