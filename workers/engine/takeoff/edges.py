"""Lengths that are sealed: laps, corner joints, edges by finish, openings round their frames."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from api_schema.job import EdgeReference, Job
from api_schema.layout import SurfaceLayout
from api_schema.surface import Finish, Surface
from api_schema.take_off import ItemName
from workers.engine.takeoff.segments import Rings

Lengths = dict[ItemName, Decimal]  # millimetres, not yet rounded

_EDGE_ITEMS: dict[Finish, ItemName] = {
    "timber": "timber_edge",
    "masonry": "masonry_edge",
    "slab": "slab_edge",
    "frame": "frame",
}


def laps_of(layout: SurfaceLayout | None) -> Lengths:
    """Lengths of laps and end laps of one surface, where the layout has put them."""
    if layout is None:
        return {}
    laps = sum(end - start for lap in layout.laps for start, end in lap.spans_mm)
    end_laps = sum(lap.length_mm for strip in layout.strips for lap in strip.end_laps)
    return {"lap": Decimal(laps), "end_lap": Decimal(end_laps)}


def finishes_of(surface: Surface) -> Lengths:
    """Lengths of edges by finish; a stretch where an opening touches the edge is not sealed there."""
    rings = rings_of(surface)
    lengths: Lengths = {}
    for end in surface.edges:
        item = _EDGE_ITEMS.get(end.finish)  # nothing is sealed along an open edge
        if item is not None:
            sealed = rings.bare_length_mm(0, rings.rings[0][end.edge])
            lengths[item] = lengths.get(item, Decimal(0)) + sealed
    return lengths


def opening_perimeter(surface: Surface) -> Decimal:
    """Millimetres of opening edge that are sealed to frames.

    Where an opening's edge lies on the surface's outline (a door on the floor) or on another opening's edge
    there is no layer beside it, so nothing is sealed to the frame there.
    """
    rings = rings_of(surface)
    return sum(
        (
            rings.bare_length_mm(number, edge)
            for number, ring in enumerate(rings.rings)
            if number > 0
            for edge in ring
        ),
        Decimal(0),
    )


def corners_by_surface(job: Job, layouts: Mapping[str, SurfaceLayout]) -> dict[str, Decimal]:
    """Millimetres of internal corner joint, each junction once, under the surface whose layer returns.

    The length is that of the returning side's edge less what openings take of it. Where no layout says which
    side returns, the junction counts under its side a.
    """
    surfaces = {surface.id: surface for surface in job.surfaces}
    returning = {
        (layout.id, edge.edge)
        for layout in layouts.values()
        for edge in layout.edges
        if edge.role == "returns"
    }
    lengths: dict[str, Decimal] = {}
    for junction in job.junctions:
        side = (
            junction.b if _key(junction.b) in returning and _key(junction.a) not in returning else junction.a
        )
        surface = surfaces[side.surface]
        rings = rings_of(surface)
        length = rings.bare_length_mm(0, rings.rings[0][side.edge])
        lengths[surface.id] = lengths.get(surface.id, Decimal(0)) + length
    return lengths


def rings_of(surface: Surface) -> Rings:
    """A surface's outline and openings."""
    return Rings([surface.outline_mm, *(opening.outline_mm for opening in surface.openings)])


def _key(side: EdgeReference) -> tuple[str, int]:
    return (side.surface, side.edge)
