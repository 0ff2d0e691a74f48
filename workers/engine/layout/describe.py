"""From a solved row to the record a crew can read: strips, pieces, laps, names and the reason in words."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal

from api_schema.layout import EdgeAllowance, EndLap, Lap, Piece, Strip, SurfaceLayout
from api_schema.surface import Surface
from workers.engine.layout.bands import runs_in
from workers.engine.layout.frame import is_upright
from workers.engine.layout.pieces import Run
from workers.engine.layout.rates import Product, money
from workers.engine.layout.slabs import Slabs
from workers.engine.layout.slants import end_slants
from workers.engine.layout.solve import Laid, Solved

_MM_PER_M = Decimal(1000)


def describe(
    surface: Surface, solved: Solved, edges: tuple[EdgeAllowance, ...], minor_unit: Decimal
) -> SurfaceLayout:
    """The layout of a surface as a record."""
    other = rounded(solved.other.cost, minor_unit) if solved.other is not None else None
    found = describe_row(surface, solved, solved.best, edges, minor_unit)
    return replace(found, reason=_reason(surface, solved, found.cost, other), runner_up_cost=other)


def describe_row(
    surface: Surface, solved: Solved, laid: Laid, edges: tuple[EdgeAllowance, ...], minor_unit: Decimal
) -> SurfaceLayout:
    """One row of strips as a record, without a reason; the bound is that of the surface."""
    cost = rounded(laid.cost, minor_unit)
    best = rounded(solved.best.cost, minor_unit)
    strips, laps = strips_and_laps(surface.id, laid)
    return SurfaceLayout(
        id=surface.id,
        run=laid.run,
        direction=laid.direction,
        cost=cost,
        bound=best if solved.proven else min(best, rounded(solved.bound, minor_unit)),
        proven=solved.proven and cost == best,
        strips=strips,
        laps=laps,
        edges=edges,
    )


def rounded(units: int, minor_unit: Decimal) -> Decimal:
    """Units as money, to the currency's smallest amount."""
    return money(units).quantize(minor_unit, ROUND_HALF_EVEN)


def strips_and_laps(name: str, laid: Laid) -> tuple[tuple[Strip, ...], tuple[Lap, ...]]:
    """The strips from the laying start, and the laps between neighbours."""
    strips: list[Strip] = []
    laps: list[Lap] = []
    chain = laid.chain
    joined = [False] + [not any(a <= low <= b for a, b in chain.gaps) for low, _ in laid.row[1:]] + [False]
    for number, (low, product_number) in enumerate(laid.row):
        product = chain.products[product_number]
        high = low + product.width_mm
        bottom, top = _heights(laid.region, low, high, None)
        lower = low if joined[number] else bottom
        upper = high if joined[number + 1] else top
        _, runs = runs_in(laid.region, product, laid.ends, low)
        strip = f"{name}/{number + 1}"
        pieces, end_laps = _pieces(strip, runs, product, laid.region, (lower, upper))
        if joined[number]:
            laps.append(_lap(name, number, laid, strips[-1].to_mm, low))
        strips.append(
            Strip(
                id=strip,
                product=product.code,
                from_mm=lower,
                to_mm=upper,
                pieces=pieces,
                ripped_to_mm=upper - lower if upper - lower < product.width_mm else None,
                end_laps=end_laps,
            )
        )
    return tuple(strips), tuple(laps)


def _lap(name: str, number: int, laid: Laid, below: int, at: int) -> Lap:
    spans = laid.region.spans(at)
    return Lap(
        id=f"{name}/{number}-{number + 1}",
        at_mm=at,
        spans_mm=tuple(spans),
        length_m=Decimal(sum(high - low for low, high in spans)) / _MM_PER_M,
        on_member=laid.members is not None and laid.members.carries(at),
        overlap_mm=below - at,
    )


def _pieces(
    strip: str, runs: tuple[Run, ...], product: Product, region: Slabs, band: tuple[int, int]
) -> tuple[tuple[Piece, ...], tuple[EndLap, ...]]:
    pieces: list[Piece] = []
    end_laps: list[EndLap] = []
    for run in runs:
        for part, (start, stop) in enumerate(run.pieces):
            letter = letters(len(pieces))
            if part:
                joint = run.joints[part - 1]
                end_laps.append(
                    EndLap(
                        id=f"{pieces[-1].id}-{letter}",
                        from_mm=joint.low_mm,
                        to_mm=joint.high_mm,
                        length_mm=joint.length_mm,
                        on_member=joint.on_member,
                    )
                )
            bottom, top = _heights(region, *band, (start, stop))
            first, last = end_slants(region, (bottom, top), (start, stop))
            pieces.append(
                Piece(
                    id=f"{strip}{letter}",
                    from_mm=start,
                    to_mm=stop,
                    cut_length_mm=product.cut_mm(stop - start),
                    cut_width_mm=top - bottom,
                    start_slant_mm=0 if part else first,  # joints are square
                    end_slant_mm=0 if part < len(run.pieces) - 1 else last,
                )
            )
    return tuple(pieces), tuple(end_laps)


def _heights(region: Slabs, low: int, high: int, within: tuple[int, int] | None) -> tuple[int, int]:
    """Lowest and highest height of the region in a band, and in a stretch of the run where one is given."""
    met = [
        (bottom, top)
        for slab, bottom, top in region.in_band(low, high)
        for one in slab.trapezoids
        for a, b in (slab.extent(one, bottom, top),)
        if within is None or (a < within[1] and b > within[0])
    ]
    return min(bottom for bottom, _ in met), max(top for _, top in met)


def letters(number: int) -> str:
    """a, b, …, z, aa, ab, … for 0, 1, …"""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("a") + rest) + name
    return name


def _reason(surface: Surface, solved: Solved, cost: Decimal, other: Decimal | None) -> str:
    timbers = {"wall": "studs", "slope": "rafters", "ceiling": "joists", "floor": "joists"}.get(
        surface.kind, "timbers"
    )
    best = solved.best
    count = len(best.row)
    strips = f"{count} strip" + ("" if count == 1 else "s")
    way = f"along the {timbers}" if best.run == "along_members" else f"across the {timbers}"
    opposite = f"across the {timbers}" if best.run == "along_members" else f"along the {timbers}"
    first = f"{strips} {way}"
    if not is_upright(best.direction):
        first += f", at {best.direction}°"
    if other is not None:
        more = other - cost
        second = f"{opposite} costs the same" if more == 0 else f"{opposite} costs {more} more"
    elif best.run == "along_members":
        second = "as asked for"
    else:
        second = {
            "standard": "the standard allows no other way",
            "surface": "as asked for",
            "members": f"along the {timbers} the laps cannot all lie on one",
            "": "no other way is possible",
        }[solved.along_refused]
    return f"{first}; {second}."
