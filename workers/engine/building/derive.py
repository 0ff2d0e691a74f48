"""From a building description to its survey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from api_schema.building import Building
from api_schema.job import Job, Junction
from api_schema.problem import Fault, SurveyFaults
from api_schema.surface import Surface
from workers.engine.building.blocks import Corner, Layout, Patch, Solid
from workers.engine.building.dormers import dormer_covers, dormer_sides
from workers.engine.building.flatten import FlatRegion, flatten
from workers.engine.building.mesh import Mesh, Vertex
from workers.engine.building.parts import Part, parts_of
from workers.engine.building.placing import Site, place_all
from workers.engine.building.planar import Point, Segment, area_twice
from workers.engine.building.regions import CutLine, NeedsCuts, Regions, find_regions
from workers.engine.building.roofs import covers_of
from workers.engine.building.solid import build_solid, partition_strips

_MOST_ROUNDS = 12
_MOST_LINES = 500


@dataclass(frozen=True, slots=True)
class DerivedSurvey:
    """What a building description says, as surfaces to be lined.

    `envelope_area_m2` counts every face round the heated space, lined or not, internal dimensions, with the edges
    of intermediate floors (ISO 9972). `volume_m3` is the rooms' volume, floor to ceiling; `enclosed_m3` has the
    floors between storeys in it too and is what the mesh encloses. Both are integrated over the plan in exact
    arithmetic, apart from the mesh, and rounded to whole mm³.
    """

    surfaces: tuple[Surface, ...]
    junctions: tuple[Junction, ...]
    envelope_area_m2: Decimal
    volume_m3: Decimal
    enclosed_m3: Decimal
    floor_area_m2: Decimal
    mesh: Mesh


def derive(building: Building) -> DerivedSurvey:
    """The survey of a building: surfaces in their own planes, junctions, areas, volume and the closed mesh.

    Raises:
        SurveyFaults: with every fault found, pointers into the building.
    """
    parts = _checked_parts(building)
    layouts = _layouts(parts)
    try:
        solid, regions = _solid_and_regions(layouts)
    except ValueError as error:
        if isinstance(error, SurveyFaults):
            raise
        raise SurveyFaults(
            (
                Fault(
                    "/storeys",
                    f"we cannot close this building's surfaces ({error}); describe it in simpler parts.",
                ),
            )
        ) from error
    flat, junctions, names = flatten(regions, solid.faces, parts, building)
    surfaces, faults = place_all(building, _site(parts, layouts, flat, regions, solid))
    if faults:
        raise SurveyFaults(tuple(faults))
    mesh = _mesh(solid, regions, names, flat)
    footprints = sum((area_twice(loop) for part in parts for loop in part.loops), Fraction(0)) / 2
    return DerivedSurvey(
        surfaces=surfaces,
        junctions=junctions,
        envelope_area_m2=_rounded(Fraction(mesh.area_m2()), 6),
        volume_m3=_rounded(solid.rooms_mm3 / 10**9, 9),
        enclosed_m3=_rounded((solid.rooms_mm3 + solid.floors_mm3) / 10**9, 9),
        floor_area_m2=_rounded(footprints / 10**6, 6),
        mesh=mesh,
    )


def with_building(job: Job) -> Job:
    """The job with the surfaces and junctions of its building filled in, and its volume where none was given.

    A surface given beside the building replaces the derived one of the same name; a junction that then points at
    an edge it does not have is left out. Surfaces given under other names are added.

    Raises:
        SurveyFaults: pointers into the job.
    """
    if job.building is None:
        return job
    try:
        survey = derive(job.building)
    except SurveyFaults as error:
        raise SurveyFaults(
            tuple(Fault(f"/building{fault.pointer}", fault.detail) for fault in error.faults)
        ) from None
    given = {surface.id: surface for surface in job.surfaces}
    derived = {surface.id for surface in survey.surfaces}
    surfaces = tuple(given.get(surface.id, surface) for surface in survey.surfaces)
    surfaces += tuple(surface for surface in job.surfaces if surface.id not in derived)
    corners = {surface.id: len(surface.outline_mm) for surface in surfaces}
    spoken_for = {(end.surface, end.edge) for junction in job.junctions for end in (junction.a, junction.b)}
    spoken_for |= {(surface.id, finish.edge) for surface in job.surfaces for finish in surface.edges}
    kept = tuple(
        junction
        for junction in survey.junctions
        if all(
            end.edge < corners[end.surface] and (end.surface, end.edge) not in spoken_for
            for end in (junction.a, junction.b)
        )
    )
    return replace(
        job,
        surfaces=surfaces,
        junctions=(*job.junctions, *kept),
        volume_m3=round(survey.volume_m3, 3) if job.volume_m3 is None else job.volume_m3,
    )


def _checked_parts(building: Building) -> tuple[Part, ...]:
    count = sum(
        len(storey.footprint_mm)
        + sum(len(court) for court in storey.courtyards_mm)
        + 4 * len(storey.partitions)
        + 4 * len(storey.dormers)
        + (len(storey.roof.lines) if storey.roof else 0)
        for storey in building.storeys
    )
    if count > _MOST_LINES:
        raise SurveyFaults(
            (
                Fault(
                    "/storeys",
                    f"has {count} lines in plan (walls, internal walls, dormers); we take up to {_MOST_LINES}. Send the building in parts.",
                ),
            )
        )
    parts, faults = parts_of(building)
    if faults:
        raise SurveyFaults(faults)
    return parts


def _layouts(parts: Sequence[Part]) -> tuple[Layout, ...]:
    lowest = min(part.floor for part in parts)
    layouts: list[Layout] = []
    faults: list[Fault] = []
    for part in parts:
        try:
            covers = covers_of(part)
        except SurveyFaults as error:
            faults.extend(error.faults)
            continue
        dormers, found = dormer_covers(part, covers)
        faults.extend(found)
        storey = part.storey
        for number, partition in enumerate(storey.partitions):
            if partition.from_mm == partition.to_mm:
                faults.append(
                    Fault(f"{part.pointer}/partitions/{number}", "starts and ends at the same point.")
                )
        if faults:
            continue
        slab = storey.floor == "slab" or (storey.floor is None and part.floor == lowest)
        layouts.append(
            Layout(part, covers, tuple(dormers), tuple(dormer_sides(part)), partition_strips(part), slab)
        )
    if faults:
        raise SurveyFaults(tuple(faults))
    return tuple(layouts)


def _solid_and_regions(layouts: Sequence[Layout]) -> tuple[Solid, Regions]:
    """The solid, with as many cuts as it takes for every surface to have one plain outline."""
    cuts: dict[Patch, list[CutLine]] = {}
    for _ in range(_MOST_ROUNDS):
        solid = build_solid(layouts, list(_cut_segments(cuts, layouts)))
        try:
            return solid, find_regions(solid, cuts)
        except NeedsCuts as needs:
            for patch, lines in needs.lines.items():
                cuts.setdefault(patch, []).extend(lines)
    raise ValueError("a surface has too many holes in it")


def _cut_segments(cuts: dict[Patch, list[CutLine]], layouts: Sequence[Layout]) -> list[Segment]:
    by_part = {one.part.number: one.part for one in layouts}
    segments: list[Segment] = []
    for patch, lines in cuts.items():
        if patch.wall is not None:
            continue  # walls are parted where the plan is cut already
        corners = [p for loop in by_part[patch.part].loops for p in loop]
        low, high = min(p[1] for p in corners), max(p[1] for p in corners)
        for (x, _), _ in lines:
            a: Point = (x, low)
            b: Point = (x, high)
            segments.append((a, b, "cut"))
    return segments


def _site(
    parts: tuple[Part, ...],
    layouts: Sequence[Layout],
    flat: tuple[FlatRegion, ...],
    regions: Regions,
    solid: Solid,
) -> Site:
    walls = [(part, wall) for part in parts for wall in part.walls]
    walls += [(one.part, side.wall) for one in layouts for side in one.sides]
    slopes = tuple(
        (one.part.number, wall, cover.name, cover.slope)
        for one in layouts
        for cover in one.covers
        for wall in cover.walls
    )
    return Site(parts, tuple(walls), slopes, flat, regions.regions, solid.faces)


def _mesh(solid: Solid, regions: Regions, names: dict[int, str], flat: tuple[FlatRegion, ...]) -> Mesh:
    index: dict[Corner, int] = {}
    faces = tuple(
        tuple(index.setdefault(corner, len(index)) for corner in face.corners) for face in solid.faces
    )
    corners: tuple[Vertex, ...] = tuple((float(x), float(y), float(z)) for x, y, z in index)
    lined = tuple(names.get(region) for region in regions.region_of)
    return Mesh(corners, faces, lined, tuple(one.plane for one in flat))


def _rounded(value: Fraction, places: int) -> Decimal:
    """That many decimals, half-even."""
    return Decimal(round(value * 10**places)).scaleb(-places)
