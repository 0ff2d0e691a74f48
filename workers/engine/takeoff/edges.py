"""Lengths that are sealed: laps, corner joints, edges by finish, openings round their frames."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Literal

from api_schema.job import EdgeReference, Job
from api_schema.layout import SurfaceLayout
from api_schema.surface import Finish, Surface
from api_schema.take_off import ItemName
from workers.engine.takeoff.segments import Rings

EdgeItem = Literal["timber_edge", "masonry_edge", "slab_edge", "frame"]
Lengths = dict[ItemName, Decimal]  # millimetres, not yet rounded

EDGE_ITEMS: dict[Finish, EdgeItem] = {
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
    """Lengths of edges by finish, those round openings that end on something else than a frame among them.

    A stretch where an opening touches the edge is not sealed there.
    """
    rings = rings_of(surface)
    lengths: Lengths = {}
    for end in surface.edges:
        item = EDGE_ITEMS.get(end.finish)  # nothing is sealed along an open edge
        if item is not None:
            sealed = rings.bare_length_mm(0, rings.rings[0][end.edge])
            lengths[item] = lengths.get(item, Decimal(0)) + sealed
    for number, opening in enumerate(surface.openings, start=1):
        item = EDGE_ITEMS.get(opening.finish)
        if item is not None and opening.finish != "frame":
            for edge in rings.rings[number]:
                lengths[item] = lengths.get(item, Decimal(0)) + rings.bare_length_mm(number, edge)
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
            for number, opening in enumerate(surface.openings, start=1)
            if opening.finish == "frame"
            for edge in rings.rings[number]
        ),
        Decimal(0),
    )


def corners_by_surface(job: Job, layouts: Mapping[str, SurfaceLayout]) -> dict[str, Decimal]:
    """Millimetres of internal corner joint, each junction once, under the surface whose layer returns.

    The length is that of the returning side's edge less what openings take of it.
    """
    surfaces = {surface.id: surface for surface in job.surfaces}
    lengths: dict[str, Decimal] = {}
    for side in corner_sides(job, layouts):
        surface = surfaces[side.surface]
        rings = rings_of(surface)
        length = rings.bare_length_mm(0, rings.rings[0][side.edge])
        lengths[surface.id] = lengths.get(surface.id, Decimal(0)) + length
    return lengths


def corner_sides(job: Job, layouts: Mapping[str, SurfaceLayout]) -> Iterator[EdgeReference]:
    """Of each junction the side whose layer returns; where no layout says which, its side a."""
    returning = {
        (layout.id, edge.edge)
        for layout in layouts.values()
        for edge in layout.edges
        if edge.role == "returns"
    }
    for junction in job.junctions:
        yield (
            junction.b if _key(junction.b) in returning and _key(junction.a) not in returning else junction.a
        )


def rings_of(surface: Surface) -> Rings:
    """A surface's outline and openings."""
    return Rings([surface.outline_mm, *(opening.outline_mm for opening in surface.openings)])


def _key(side: EdgeReference) -> tuple[str, int]:
    return (side.surface, side.edge)
