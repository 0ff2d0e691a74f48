"""Where a piece may be spliced, and the layout with its pieces spliced there.

A splice is an end lap on a member that crosses the strip, as where a strip is too long for one piece; strips along the
members have none behind such a joint and are not spliced. Both parts are at least as long as the standard says, and
the overlap keeps clear of every penetration and opening.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal

from api_schema.job import Job
from api_schema.layout import EndLap, Layout, Piece, Strip, SurfaceLayout
from api_schema.standard import Standard
from api_schema.surface import Surface
from workers.engine.costs import LayoutCosts
from workers.engine.layout.frame import into_frame, lines_across
from workers.engine.layout.laps import Zone, zones_of
from workers.engine.layout.pieces import Place
from workers.engine.layout.region import into_run, region_of
from workers.engine.layout.slabs import slabs_of

_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class SplicePlace:
    """A piece in two parts: the overlap along the run, the member behind it, the lengths cut, and the money.

    `cost` is tape and taping of the joint and hanging one piece more; `more_mm` what is cut more than for the whole
    piece.
    """

    piece: str
    from_mm: int
    to_mm: int
    member_mm: int
    joint_mm: int
    first_mm: int
    second_mm: int
    more_mm: int
    cost: Decimal


def splice_places(
    job: Job, layout: Layout, standard: Standard, costs: LayoutCosts, products: set[str]
) -> dict[str, tuple[SplicePlace, ...]]:
    """Every place where a piece of these products may be spliced, by piece, from its start on."""
    surfaces = {surface.id: surface for surface in job.surfaces}
    rolls = {membrane.product: membrane.roll_length_mm for membrane in costs.membranes}
    found: dict[str, tuple[SplicePlace, ...]] = {}
    for one in layout.surfaces:
        if one.run != "across_members" or not any(strip.product in products for strip in one.strips):
            continue
        on_surface = _OnSurface.of(surfaces[one.id], one, standard)
        for strip in one.strips:
            if strip.product in products:
                for piece in strip.pieces:
                    places = tuple(on_surface.places(strip, piece, standard, costs, rolls[strip.product]))
                    if places:
                        found[piece.id] = places
    return found


@dataclass(frozen=True, slots=True)
class _OnSurface:
    """The members across the strips, and what a splice keeps clear of, in the run frame."""

    lines: dict[int, Place]
    kept_clear: tuple[Zone, ...]

    @classmethod
    def of(cls, surface: Surface, layout: SurfaceLayout, standard: Standard) -> _OnSurface:
        allowances = tuple(edge.allowance_mm for edge in layout.edges)
        turned = into_run(region_of(surface, allowances, standard.opening_turn_in_mm), layout.direction)
        sections = slabs_of(tuple(tuple((t, s) for s, t in ring) for ring in turned))
        members = lines_across(surface.members).between(sections.low, sections.high)
        return cls(
            {at: Place(at, tuple(sections.spans(at))) for at in members},
            (
                *zones_of(replace(surface, openings=()), layout.direction, standard.lap_clear_mm),
                *_round_openings(surface, layout.direction, standard.lap_clear_mm),
            ),
        )

    def places(
        self, strip: Strip, piece: Piece, standard: Standard, costs: LayoutCosts, roll_mm: int
    ) -> Iterator[SplicePlace]:
        """The places in one piece."""
        overlap = max(standard.splice_overlap_mm, standard.end_lap_mm)
        shortest = max(standard.splice_part_mm, 2 * overlap)
        band = (strip.from_mm, strip.to_mm)
        for member, line in self.lines.items():
            start = member - overlap // 2
            stop = start + overlap
            if stop - piece.from_mm < shortest or piece.to_mm - start < shortest:
                continue
            joint = line.length(band)
            if joint == 0 or any(
                zone.low < band[1] and zone.high > band[0] and zone.start < stop and zone.stop > start
                for zone in self.kept_clear
            ):
                continue
            first, second = (
                min(-(-extent // standard.cut_step_mm) * standard.cut_step_mm, roll_mm)
                for extent in (stop - piece.from_mm, piece.to_mm - start)
            )
            yield SplicePlace(
                piece.id,
                start,
                stop,
                member,
                joint,
                first,
                second,
                first + second - piece.cut_length_mm,
                (costs.end_lap_cost_per_m * joint / 1000 + costs.piece_cost).quantize(
                    costs.minor_unit, ROUND_HALF_EVEN
                ),
            )


def _round_openings(surface: Surface, direction: str, clear_mm: int) -> Iterator[Zone]:
    for opening in surface.openings:
        corners = into_frame(opening.outline_mm, direction)
        along, over = [s for s, _ in corners], [t for _, t in corners]
        yield Zone(min(over) - clear_mm, max(over) + clear_mm, min(along) - clear_mm, max(along) + clear_mm)


def part_names(piece: str) -> tuple[str, str]:
    """The names of the two parts of a piece."""
    return f"{piece}.1", f"{piece}.2"


def spliced(layout: Layout, chosen: Mapping[str, SplicePlace], costs: LayoutCosts) -> Layout:
    """The layout with these pieces, by name, in two parts each; costs are those of the joints and what is cut more."""
    prices = {membrane.product: membrane.price_per_m for membrane in costs.membranes}
    surfaces = tuple(_surface(one, chosen, prices, costs.minor_unit) for one in layout.surfaces)
    return replace(
        layout,
        surfaces=surfaces,
        cost=sum((one.cost for one in surfaces), _NOTHING),
        proven=all(one.proven for one in surfaces),
    )


def _surface(
    layout: SurfaceLayout,
    chosen: Mapping[str, SplicePlace],
    prices: Mapping[str, Decimal],
    minor_unit: Decimal,
) -> SurfaceLayout:
    here = [
        (strip, chosen[piece.id]) for strip in layout.strips for piece in strip.pieces if piece.id in chosen
    ]
    if not here:
        return layout
    more = sum((place.cost + place.more_mm * prices[strip.product] / 1000 for strip, place in here), _NOTHING)
    cost = layout.cost + more.quantize(minor_unit, ROUND_HALF_EVEN)
    return replace(
        layout,
        strips=tuple(_strip(strip, chosen) for strip in layout.strips),
        cost=cost,
        proven=layout.proven and cost == layout.bound,
        reason=f"{layout.reason} {_reason([place for _, place in here])}".strip()[:500],
    )


def _reason(places: list[SplicePlace]) -> str:
    names = ", ".join(place.piece.rpartition("/")[2] for place in places)
    return f"{names} {'is' if len(places) == 1 else 'are'} spliced for the sake of the rolls."


def _strip(strip: Strip, chosen: Mapping[str, SplicePlace]) -> Strip:
    if not any(piece.id in chosen for piece in strip.pieces):
        return strip
    pieces: list[Piece] = []
    joints = list(strip.end_laps)
    for piece in strip.pieces:
        place = chosen.get(piece.id)
        if place is None:
            pieces.append(piece)
            continue
        first, second = part_names(piece.id)
        pieces.append(
            replace(piece, id=first, to_mm=place.to_mm, cut_length_mm=place.first_mm, end_slant_mm=0)
        )
        pieces.append(
            replace(piece, id=second, from_mm=place.from_mm, cut_length_mm=place.second_mm, start_slant_mm=0)
        )
        joints.append(
            EndLap(
                id=f"{first}-2",
                from_mm=place.from_mm,
                to_mm=place.to_mm,
                length_mm=place.joint_mm,
                on_member=True,
                splice=True,
            )
        )
    return replace(
        strip, pieces=tuple(pieces), end_laps=tuple(sorted(joints, key=lambda one: (one.from_mm, one.id)))
    )
