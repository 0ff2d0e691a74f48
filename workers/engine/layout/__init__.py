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
from workers.engine.layout.rates import LayoutError, Rates, money, rates_of
from workers.engine.layout.solve import Solved, solve

__all__ = ["Floor", "Laying", "LayoutError", "alternatives", "lay", "lay_out"]

# with more shapes in a job, or corners of one, what laps cost at least is not looked for
_MOST_SHAPES, _MOST_CORNERS = 200, 200


@dataclass(frozen=True, slots=True)
class Floor:
    """What no layout of a job goes below, the edges' allowances as chosen.

    `area_mm2` is what the strips cover at least, `beside` by surface what laps, penalties and pieces cost at least.
    """

    area_mm2: int
    beside: tuple[Decimal, ...]


@dataclass(frozen=True, slots=True)
class Laying:
    """A layout of a whole job, and what was found on the way to it."""

    layout: Layout
    _surfaces: Mapping[str, Surface]
    _solved: Mapping[str, Solved]
    _minor_unit: Decimal
    _standard: Standard
    _rates: Rates

    def floor(self) -> Floor:
        """What no layout of the job goes below.

        Every layout covers the region, so it takes no less membrane than the region's area. And every layout is among
        those of a job whose membrane costs nothing; there it costs what it costs here beside the membrane. So the
        least cost there is a bound on that here, surface by surface, whatever the membrane does.
        """
        free = replace(self._rates, products=tuple(replace(one, by_mm=0) for one in self._rates.products))
        beside: dict[object, int] = {}
        shapes = {self._alike(chosen) for chosen in self.layout.surfaces}
        for chosen in self.layout.surfaces:
            alike = self._alike(chosen)
            if alike not in beside:
                beside[alike] = (
                    solve(self._surfaces[chosen.id], _allowances(chosen), self._standard, free).bound
                    if len(shapes) <= _MOST_SHAPES
                    and len(self._surfaces[chosen.id].outline_mm) <= _MOST_CORNERS
                    else self._rates.products[0].piece
                )
        return Floor(
            area_mm2=sum(self._solved[chosen.id].area_mm2 for chosen in self.layout.surfaces),
            beside=tuple(money(beside[self._alike(chosen)]) for chosen in self.layout.surfaces),
        )

    def _alike(self, chosen: SurfaceLayout) -> object:
        return _shape_of(self._surfaces[chosen.id]), _allowances(chosen)

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
    return Laying(layout, surfaces, best, costs.minor_unit, standard, rates)


def alternatives(
    surface: Surface, chosen: SurfaceLayout, standard: Standard, costs: LayoutCosts, *, most: int = 6
) -> tuple[SurfaceLayout, ...]:
    """As `Laying.alternatives`, for one surface by itself.

    Raises:
        LayoutError: as `lay`.
    """
    solved = solve(surface, _allowances(chosen), standard, rates_of(costs, standard))
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


def _allowances(chosen: SurfaceLayout) -> tuple[int, ...]:
    return tuple(edge.allowance_mm for edge in chosen.edges)


def _shape_of(surface: Surface) -> tuple[object, ...]:
    """All of a surface that its layout depends on."""
    return (
        surface.outline_mm,
        surface.members,
        surface.run,
        tuple(opening.outline_mm for opening in surface.openings),
        tuple((p.at_mm, p.diameter_mm, p.width_mm, p.height_mm) for p in surface.penetrations),
    )
