"""What makes a survey usable: every fault is found at once and said in a fitter's words.

These are checks of shape alone (crossing outlines, openings outside, names twice), so that the web process can
answer at once. Outlines are never repaired: which repair was meant only the person who measured can say.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator

import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon

from api_schema.job import MOST_VERTICES, EdgeReference, Job
from api_schema.problem import Fault
from api_schema.surface import EdgeFinish, Opening, Outline, Penetration, Surface

_CROSSING = re.compile(r"\[(-?[0-9.]+(?:e[+-]?\d+)?) (-?[0-9.]+(?:e[+-]?\d+)?)\]")
_MOST_FAULTS = 200  # more than anybody reads; the rest shows once these are mended


def find_faults(job: Job) -> tuple[Fault, ...]:
    """Every fault of a job's survey, in the job's order; empty where it can be planned.

    Where surfaces are to be derived from a building, what refers to one of those is left to the worker that does it.
    """
    corners = sum(
        len(surface.outline_mm) + sum(len(opening.outline_mm) for opening in surface.openings)
        for surface in job.surfaces
    )
    if corners > MOST_VERTICES:
        return (
            Fault(
                "/surfaces", f"has {corners} corners in all; a job may have {MOST_VERTICES}. Split the job."
            ),
        )
    return tuple(_first(_MOST_FAULTS, _faults(job)))


def normalised(job: Job) -> Job:
    """The same job with every outline counter-clockwise, its first corner kept and its edges renumbered to match."""
    turned = {
        surface.id: len(surface.outline_mm) for surface in job.surfaces if is_clockwise(surface.outline_mm)
    }
    if not turned and not any(is_clockwise(hole.outline_mm) for one in job.surfaces for hole in one.openings):
        return job
    return dataclasses.replace(
        job,
        surfaces=tuple(_normalised_surface(surface) for surface in job.surfaces),
        junctions=tuple(
            dataclasses.replace(
                junction, a=_renumbered(junction.a, turned), b=_renumbered(junction.b, turned)
            )
            for junction in job.junctions
        ),
    )


def doubled_area_mm2(outline: Outline) -> int:
    """Twice the signed area of a polygon by the shoelace formula; positive when counter-clockwise."""
    following = (*outline[1:], outline[0])
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, following, strict=True))


def is_clockwise(outline: Outline) -> bool:
    """Does the polygon run clockwise?"""
    return doubled_area_mm2(outline) < 0


def edge_length_mm(outline: Outline, edge: int) -> float:
    """Length of edge `edge`, from corner `edge` to the next."""
    start, end = outline[edge], outline[(edge + 1) % len(outline)]
    return math.dist(start, end)


def _first(most: int, faults: Iterable[Fault]) -> Iterator[Fault]:
    for number, fault in enumerate(faults):
        if number == most:
            return
        yield fault


def _faults(job: Job) -> Iterator[Fault]:
    if not job.surfaces and job.building is None:
        yield Fault("/surfaces", "is empty; give at least one surface to be lined.")
    if job.target is not None and (job.target.n50_per_h is None) == (job.target.q50_m3_h_m2 is None):
        yield Fault("/target", "must have one of n50_per_h and q50_m3_h_m2.")
    yield from _twice((surface.id for surface in job.surfaces), "/surfaces", "surface")
    for number, surface in enumerate(job.surfaces):
        yield from _surface_faults(surface, f"/surfaces/{number}")
    yield from _junction_faults(job)


def _twice(names: Iterable[str], pointer: str, what: str) -> Iterator[Fault]:
    listed = list(names)
    counted = Counter(listed)
    seen: set[str] = set()
    for number, name in enumerate(listed):
        if counted[name] > 1 and name in seen:
            yield Fault(
                f"{pointer}/{number}/id", f'"{name}" is the name of another {what} too; give each its own.'
            )
        seen.add(name)


def _surface_faults(surface: Surface, pointer: str) -> Iterator[Fault]:
    outline_fault = _outline_fault(surface.outline_mm, f"{pointer}/outline_mm", surface.id)
    yield from _edge_faults(surface, pointer)
    yield from _twice((opening.id for opening in surface.openings), f"{pointer}/openings", "opening")
    yield from _twice((one.id for one in surface.penetrations), f"{pointer}/penetrations", "penetration")
    for number, penetration in enumerate(surface.penetrations):
        yield from _size_faults(penetration, f"{pointer}/penetrations/{number}")
    if outline_fault is not None:
        yield outline_fault
        return
    region = Polygon(surface.outline_mm)
    shapely.prepare(region)
    holes: list[tuple[int, Opening, Polygon]] = []
    for number, opening in enumerate(surface.openings):
        where = f"{pointer}/openings/{number}/outline_mm"
        fault = _outline_fault(opening.outline_mm, where, opening.id)
        if fault is not None:
            yield fault
            continue
        hole = Polygon(opening.outline_mm)
        if not region.covers(hole):
            corner = _corner_outside(opening.outline_mm, region)
            yield Fault(
                where,
                f"{opening.id} reaches outside {surface.id}{corner}; it may touch the edge, not cross it.",
            )
        holes.append((number, opening, hole))
    yield from _overlap_faults(holes, pointer)
    for number, penetration in enumerate(surface.penetrations):
        yield from _place_faults(
            penetration, region, holes, f"{pointer}/penetrations/{number}/at_mm", surface.id
        )


def _outline_fault(outline: Outline, pointer: str, name: str) -> Fault | None:
    following = (*outline[1:], outline[0])
    for corner, (a, b) in enumerate(zip(outline, following, strict=True)):
        if a == b:
            after = (corner + 1) % len(outline)
            return Fault(
                f"{pointer}/{after}",
                f"{name}: corner {after} stands on corner {corner} at {list(a)}; leave one of them out.",
            )
    polygon = Polygon(outline)
    if polygon.convex_hull.area == 0:
        return Fault(pointer, f"{name} has no area; its corners lie on one line.")
    if not polygon.is_valid:
        return _crossing_fault(outline, polygon, pointer, name)
    return None


def _crossing_fault(outline: Outline, polygon: Polygon, pointer: str, name: str) -> Fault:
    found = _CROSSING.search(shapely.is_valid_reason(polygon))
    if found is None:
        return Fault(pointer, f"{name} is not a closed outline with an inside; list its corners in order.")
    place = (float(found[1]), float(found[2]))
    nearest = min(range(len(outline)), key=lambda corner: math.dist(outline[corner], place))
    return Fault(
        f"{pointer}/{nearest}",
        f"{name} crosses or touches itself at [{place[0]:.0f}, {place[1]:.0f}], near corner {nearest}; "
        "list its corners in order, once round.",
    )


def _corner_outside(outline: Outline, region: Polygon) -> str:
    for number, corner in enumerate(outline):
        if not region.covers(ShapelyPoint(corner)):
            return f" at its corner {number}, {list(corner)}"
    return ""


def _edge_faults(surface: Surface, pointer: str) -> Iterator[Fault]:
    last = len(surface.outline_mm) - 1
    seen: set[int] = set()
    for number, finish in enumerate(surface.edges):
        where = f"{pointer}/edges/{number}/edge"
        if finish.edge > last:
            yield Fault(where, f"{surface.id} has edges 0 to {last}; there is no edge {finish.edge}.")
        elif finish.edge in seen:
            yield Fault(where, f"edge {finish.edge} of {surface.id} is given a finish twice; leave one.")
        seen.add(finish.edge)


def _size_faults(penetration: Penetration, pointer: str) -> Iterator[Fault]:
    section = penetration.width_mm is not None and penetration.height_mm is not None
    if penetration.kind in ("timber", "steel"):
        if not section and penetration.diameter_mm is None:
            yield Fault(
                pointer, f"{penetration.id} is a {penetration.kind} section; give its width_mm and height_mm."
            )
    elif penetration.kind == "duct":
        if not section and penetration.diameter_mm is None:
            yield Fault(pointer, f"{penetration.id} needs diameter_mm, or width_mm and height_mm.")
    elif penetration.diameter_mm is None:
        yield Fault(pointer, f"{penetration.id} is a {penetration.kind}; give its outside diameter_mm.")


def _overlap_faults(holes: list[tuple[int, Opening, Polygon]], pointer: str) -> Iterator[Fault]:
    if len(holes) < 2:
        return
    tree = shapely.STRtree([hole for _, _, hole in holes])
    for index, (number, opening, hole) in enumerate(holes):
        for other in sorted(int(found) for found in tree.query(hole, predicate="intersects")):
            if other < index and hole.intersection(holes[other][2]).area > 0:
                yield Fault(
                    f"{pointer}/openings/{number}/outline_mm",
                    f"{opening.id} overlaps {holes[other][1].id}; openings may touch, not overlap.",
                )


def _place_faults(
    penetration: Penetration,
    region: Polygon,
    holes: list[tuple[int, Opening, Polygon]],
    pointer: str,
    surface_id: str,
) -> Iterator[Fault]:
    middle = ShapelyPoint(penetration.at_mm)
    if not region.covers(middle):
        yield Fault(
            pointer, f"{penetration.id} lies outside {surface_id}; measure from its left and bottom edge."
        )
        return
    for _, opening, hole in holes:
        if hole.contains(middle):
            yield Fault(
                pointer, f"{penetration.id} lies in the opening {opening.id}, where there is no membrane."
            )


def _junction_faults(job: Job) -> Iterator[Fault]:
    surfaces = {surface.id: surface for surface in job.surfaces}
    finished = {(surface.id, finish.edge) for surface in job.surfaces for finish in surface.edges}
    taken: dict[tuple[str, int], int] = {}
    for number, junction in enumerate(job.junctions):
        for side, reference in (("a", junction.a), ("b", junction.b)):
            where = f"/junctions/{number}/{side}"
            surface = surfaces.get(reference.surface)
            if surface is None:
                if job.building is not None:
                    continue
                yield Fault(f"{where}/surface", f'there is no surface named "{reference.surface}".')
                continue
            last = len(surface.outline_mm) - 1
            if reference.edge > last:
                yield Fault(
                    f"{where}/edge", f"{surface.id} has edges 0 to {last}; there is no edge {reference.edge}."
                )
                continue
            key = (reference.surface, reference.edge)
            if key in taken:
                yield Fault(
                    where,
                    f"edge {reference.edge} of {reference.surface} is joined in junction {taken[key]} already; "
                    "an edge meets one other edge. Add a corner where two surfaces meet it.",
                )
            elif key in finished:
                yield Fault(
                    where,
                    f"edge {reference.edge} of {reference.surface} has a finish too; leave one of the two.",
                )
            taken.setdefault(key, number)


def _normalised_surface(surface: Surface) -> Surface:
    openings = tuple(
        dataclasses.replace(opening, outline_mm=_reversed(opening.outline_mm))
        if is_clockwise(opening.outline_mm)
        else opening
        for opening in surface.openings
    )
    if not is_clockwise(surface.outline_mm):
        return dataclasses.replace(surface, openings=openings)
    last = len(surface.outline_mm) - 1
    return dataclasses.replace(
        surface,
        outline_mm=_reversed(surface.outline_mm),
        edges=tuple(EdgeFinish(last - finish.edge, finish.finish) for finish in surface.edges),
        openings=openings,
    )


def _reversed(outline: Outline) -> Outline:
    return (outline[0], *reversed(outline[1:]))


def _renumbered(reference: EdgeReference, turned: dict[str, int]) -> EdgeReference:
    if reference.surface not in turned:
        return reference
    return EdgeReference(reference.surface, turned[reference.surface] - 1 - reference.edge)
