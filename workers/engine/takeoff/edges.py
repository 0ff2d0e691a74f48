"""Lengths that are sealed: laps, corner joints, edges by finish, openings round their frames."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from api_schema.job import EdgeReference, Job
from api_schema.layout import SurfaceLayout
from api_schema.surface import Finish, Surface
from api_schema.take_off import ItemName
from workers.engine.takeoff.segments import bare_stretches, edges_of, length_mm, total

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
    edges = edges_of(surface.outline_mm)
    lengths: Lengths = {}
    for end in surface.edges:
        item = _EDGE_ITEMS.get(end.finish)  # nothing is sealed along an open edge
        if item is not None:
            sealed = _bare_length(surface, edges[end.edge])
            lengths[item] = lengths.get(item, Decimal(0)) + sealed
    return lengths


def opening_perimeter(surface: Surface) -> Decimal:
    """Millimetres of opening edge that are sealed to frames.

    Where an opening's edge lies on the surface's outline (a door on the floor) or on another opening's edge
    there is no layer beside it, so nothing is sealed to the frame there.
    """
    outline = edges_of(surface.outline_mm)
    sealed = Decimal(0)
    for number, opening in enumerate(surface.openings):
        beside = [
            edge
            for index, other in enumerate(surface.openings)
            if index != number
            for edge in edges_of(other.outline_mm)
        ]
        for edge in edges_of(opening.outline_mm):
            sealed += length_mm(edge, total(bare_stretches(edge, (*outline, *beside))))
    return sealed


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
        length = _bare_length(surface, edges_of(surface.outline_mm)[side.edge])
        lengths[surface.id] = lengths.get(surface.id, Decimal(0)) + length
    return lengths


def _key(side: EdgeReference) -> tuple[str, int]:
    return (side.surface, side.edge)


def _bare_length(surface: Surface, edge: tuple[tuple[int, int], tuple[int, int]]) -> Decimal:
    openings = [hole for opening in surface.openings for hole in edges_of(opening.outline_mm)]
    return length_mm(edge, total(bare_stretches(edge, openings)))
