"""The cheapest layout of one surface: both directions the standard and the surface allow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from api_schema.standard import Standard
from api_schema.surface import Surface
from workers.engine.layout.bands import band_prices
from workers.engine.layout.chain import cheapest_row
from workers.engine.layout.frame import MemberLines, across, lines_across, lines_along
from workers.engine.layout.laps import lap_prices, zones_of
from workers.engine.layout.pieces import Ends, ends_of
from workers.engine.layout.problem import Chain, Row
from workers.engine.layout.rates import LayoutError, Rates, cost_in
from workers.engine.layout.region import Rings, into_run, region_of
from workers.engine.layout.slabs import Slabs, slabs_of

RunName = Literal["across_members", "along_members"]


@dataclass(frozen=True, slots=True)
class Laid:
    """One direction of one surface, solved: the cheapest row and all that is needed to describe it."""

    run: RunName
    direction: str
    key: int
    row: Row
    exact: bool  # every position was priced
    chain: Chain
    region: Slabs
    ends: Ends
    members: MemberLines | None  # that must carry every lap

    @property
    def cost(self) -> int:
        """Cost in units."""
        return cost_in(self.key)


@dataclass(frozen=True, slots=True)
class Solved:
    """The better direction, the other one where it is possible, and what no layout can go below.

    `along_refused` says why strips along the members were not weighed: by the standard, by the survey, or because
    the laps cannot all lie on members.
    """

    best: Laid
    other: Laid | None
    along_refused: Literal["", "standard", "surface", "members"]
    bound: int
    proven: bool

    @property
    def area_mm2(self) -> int:
        """What strips of either direction cover at least; turned by an angle, a region is rounded outward."""
        return min(area_mm2(laid.region) for laid in (self.best, self.other) if laid is not None)


def solve(surface: Surface, allowances: tuple[int, ...], standard: Standard, rates: Rates) -> Solved:
    """The cheapest layout of a surface with these allowances by edge.

    Raises:
        LayoutError: where no membrane can cover it.
    """
    rings = region_of(surface, allowances, standard.opening_turn_in_mm)
    refused: Literal["", "standard", "surface", "members"] = ""
    along = None
    if not standard.along_members_allowed:
        refused = "standard"
    elif surface.run == "across_members":
        refused = "surface"
    else:
        along = lay(surface, rings, "along_members", rates)
        refused = "" if along is not None else "members"
    if surface.run == "along_members" and along is not None:
        return _solved(along, None, refused, rates)
    cross = lay(surface, rings, "across_members", rates)
    if cross is None:
        raise LayoutError(f"{surface.id}: no row of strips covers this surface.")
    if along is not None and along.key < cross.key:
        return _solved(along, cross, refused, rates)
    return _solved(cross, along, refused, rates)


def _solved(
    best: Laid, other: Laid | None, refused: Literal["", "standard", "surface", "members"], rates: Rates
) -> Solved:
    exact = best.exact and (other is None or other.exact)
    return Solved(
        best, other, refused, best.cost if exact else min(best.cost, _area_bound(best, rates)), exact
    )


def _area_bound(laid: Laid, rates: Rates) -> int:
    """The membrane that covers the region's area without any waste, and one piece: no layout costs less."""
    area = area_mm2(laid.region)
    return min(p.by_mm * area // p.width_mm + p.piece for p in rates.products)


def area_mm2(region: Slabs) -> int:
    """The area of a region, rounded down: each trapezoid's sides are rounded inward."""
    doubled = 0
    for slab in region.slabs:
        for left, right in slab.trapezoids:
            width = sum(max(0, right.floor(t) - left.ceil(t)) for t in (slab.low, slab.high))
            doubled += width * (slab.high - slab.low)
    return doubled // 2


def lay(surface: Surface, rings: Rings, run: RunName, rates: Rates) -> Laid | None:
    """The cheapest row of strips in one direction; none where laps on members cannot cover the surface."""
    members = surface.members
    along = run == "along_members"
    direction = members.direction if along else across(members.direction)
    turned = into_run(rings, direction)
    try:
        region = slabs_of(turned)
    except ValueError as error:
        raise LayoutError(f"{surface.id}: its openings leave nothing to cover.") from error
    carrying = lines_along(members) if along else None
    crossing = None if along else lines_across(members)
    longest = min(product.longest_mm for product in rates.products)
    ends = ends_of(turned, crossing, rates.end_lap_mm, rates.end_lap_by_mm, longest)
    zones = zones_of(surface, direction, rates.clear_mm)
    priced = [band_prices(region, product, ends) for product in rates.products]
    bands = tuple(prices for prices, _ in priced)
    chain = Chain(
        start=min(prices.first for prices in bands),
        low=region.low,
        high=region.high,
        gaps=tuple(region.gaps()),
        lap_mm=rates.lap_mm,
        products=rates.products,
        bands=bands,
        laps=lap_prices(region, zones, rates, carrying),
    )
    found = cheapest_row(chain)
    if found is None:
        return None
    exact = all(sure for _, sure in priced)
    return Laid(run, direction, found[0], found[1], exact, chain, region, ends, carrying)
