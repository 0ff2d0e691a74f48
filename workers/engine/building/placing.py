"""Openings and penetrations put on to the surfaces from where a fitter measured them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon

from api_schema.building import Building
from api_schema.job import Job
from api_schema.placed import PlacedOpening, PlacedPenetration
from api_schema.problem import Fault
from api_schema.surface import Opening, Penetration, Surface
from api_schema.survey import find_faults
from workers.engine.building.blocks import SolidFace
from workers.engine.building.flatten import FlatRegion
from workers.engine.building.parts import Part, Wall
from workers.engine.building.regions import Region

Placed = PlacedOpening | PlacedPenetration
_ON_SURFACE = re.compile(
    r"/surfaces/(?P<surface>\d+)/(?P<field>openings|penetrations)/(?P<index>\d+)(?P<rest>.*)"
)
_NEAR_MM = 1.0  # surfaces and places are rounded to whole millimetres apart from each other


@dataclass(frozen=True, slots=True)
class Site:
    """What is needed to find places: the parts, their walls and dormer walls, and the lined regions."""

    parts: tuple[Part, ...]
    walls: tuple[tuple[Part, Wall], ...]
    slopes: tuple[tuple[int, str, str, int], ...]  # (part, wall, patch name, slope counted from 1)
    flat: tuple[FlatRegion, ...]
    regions: tuple[Region, ...]
    faces: tuple[SolidFace, ...]


@dataclass(frozen=True, slots=True)
class _Spot:
    """A surface and where on it the place starts: left and lower side, or middle."""

    flat: FlatRegion
    u: float
    v: float
    right: tuple[float, float]  # one mm of the placed thing's width, and of its height, on the surface
    up: tuple[float, float]


def place_all(building: Building, site: Site) -> tuple[tuple[Surface, ...], list[Fault]]:
    """The surfaces with their openings and penetrations, and what could not be placed or used, and why."""
    faults = [
        *_named_twice("openings", [one.id for one in building.openings]),
        *_named_twice("penetrations", [one.id for one in building.penetrations]),
    ]
    openings: dict[str, list[tuple[int, Opening]]] = {}
    penetrations: dict[str, list[tuple[int, Penetration]]] = {}
    for number, opening in enumerate(building.openings):
        found = _find(opening, f"/openings/{number}", site)
        if isinstance(found, Fault):
            faults.append(found)
        else:
            openings.setdefault(found[0], []).append((number, _opening(opening, found[1])))
    for number, penetration in enumerate(building.penetrations):
        found = _find(penetration, f"/penetrations/{number}", site)
        if isinstance(found, Fault):
            faults.append(found)
        else:
            penetrations.setdefault(found[0], []).append((number, _penetration(penetration, found[1])))
    surfaces = tuple(
        replace(
            one.surface,
            openings=tuple(each for _, each in openings.get(one.surface.id, ())),
            penetrations=tuple(each for _, each in penetrations.get(one.surface.id, ())),
        )
        for one in site.flat
    )
    if not faults:
        faults += _faults_on_surfaces(surfaces, openings, penetrations)
    return surfaces, faults


def _named_twice(field: str, names: Sequence[str]) -> Iterator[Fault]:
    for name, count in Counter(names).items():
        if count > 1:
            last = max(i for i, other in enumerate(names) if other == name)
            yield Fault(f"/{field}/{last}/id", f'"{name}" is used {count} times; give each its own name.')


def _opening(placed: PlacedOpening, outline: Polygon) -> Opening:
    corners = tuple((round(x), round(y)) for x, y in outline.exterior.coords[:-1])
    return Opening(placed.id, placed.kind, corners, placed.finish)


def _penetration(placed: PlacedPenetration, spot: Polygon) -> Penetration:
    return Penetration(
        id=placed.id, kind=placed.kind, at_mm=(round(spot.centroid.x), round(spot.centroid.y)),
        diameter_mm=placed.diameter_mm, width_mm=placed.width_mm, height_mm=placed.height_mm,
        free_end=placed.free_end, count=placed.count, note=placed.note,
    )  # fmt: skip


def _faults_on_surfaces(
    surfaces: Sequence[Surface],
    openings: dict[str, list[tuple[int, Opening]]],
    penetrations: dict[str, list[tuple[int, Penetration]]],
) -> Iterator[Fault]:
    """What the survey's own checks find (overlaps, sizes), pointing at what was placed."""
    numbers = {
        "openings": {name: [number for number, _ in placed] for name, placed in openings.items()},
        "penetrations": {name: [number for number, _ in placed] for name, placed in penetrations.items()},
    }
    for fault in find_faults(Job(reference="derived", surfaces=tuple(surfaces))):
        match = _ON_SURFACE.match(fault.pointer)
        if match is None:
            yield Fault("", fault.detail)
            continue
        field, name = match["field"], surfaces[int(match["surface"])].id
        number = numbers[field][name][int(match["index"])]
        yield Fault(f"/{field}/{number}{match['rest']}", fault.detail)


def _find(placed: Placed, where: str, site: Site) -> tuple[str, Polygon] | Fault:
    """The surface a placed thing lies on, and its outline there."""
    walls = [
        (part, wall)
        for part, wall in site.walls
        if wall.name == placed.wall and placed.storey in (None, part.storey.id)
    ]
    if not walls:
        known = ", ".join(
            f"{part.storey.id}: {wall.name}"
            for part, wall in site.walls
            if placed.storey in (None, part.storey.id)
        )
        return Fault(
            f"{where}/wall",
            f'there is no wall named "{placed.wall}"; there are {known}.'
            if known
            else f'there is no storey named "{placed.storey}".',
        )
    if len(walls) > 1:
        storeys = ", ".join(part.storey.id for part, _ in walls)
        return Fault(f"{where}/storey", f"{placed.wall} is a wall of {storeys}; say which storey is meant.")
    given = [
        name
        for name in ("from_floor_mm", "from_eave_mm", "from_wall_mm")
        if getattr(placed, name) is not None
    ]
    if len(given) != 1:
        return Fault(
            where,
            "give one of from_floor_mm (in the wall), from_eave_mm (in the slope over it) and from_wall_mm (in the ceiling or floor).",
        )
    spots = list(_spots(placed, *walls[0], site))
    if not spots:
        what = {"from_floor_mm": "the wall", "from_eave_mm": f"slope {placed.slope} over it"}.get(
            given[0], "the floor" if placed.in_floor else "the ceiling"
        )
        return Fault(
            where,
            f"{what} at {placed.wall} carries no membrane, or there is none; {placed.id} cannot lie in it.",
        )
    for spot in spots:
        outline = _on_surface(placed, spot)
        if outline is not None:
            return spot.flat.surface.id, outline
    return Fault(where, _does_not_fit(placed, spots))


def _spots(placed: Placed, part: Part, wall: Wall, site: Site) -> Iterator[_Spot]:
    left = Fraction(placed.from_left_mm)
    if placed.from_floor_mm is not None:
        x, y = wall.at(left, Fraction(0))
        p = (float(x), float(y), float(part.floor + placed.from_floor_mm))
        for one in site.flat:
            patch = site.regions[one.region].patch
            if (
                patch.part == part.number
                and patch.wall
                and _faces_alike(patch.wall, wall)
                and abs(one.frame.off(p)) < _NEAR_MM
            ):
                yield _Spot(one, *one.frame.place(p), (1, 0), (0, 1))
    elif placed.from_eave_mm is not None:
        names = {
            name
            for number, of, name, slope in site.slopes
            if (number, of, slope) == (part.number, wall.name, placed.slope)
        }
        x, y = wall.at(left, Fraction(0))
        for one in site.flat:
            patch = site.regions[one.region].patch
            if patch.part == part.number and patch.name in names:
                low = min(
                    float(corner[2]) for face in site.faces if face.patch == patch for corner in face.corners
                )
                u, _ = one.frame.place((float(x), float(y), low))
                v = (low - one.frame.origin[2]) / one.frame.up[2]
                yield _Spot(one, u, v + placed.from_eave_mm, (1, 0), (0, 1))
    elif placed.from_wall_mm is not None:
        x, y = wall.at(left, Fraction(placed.from_wall_mm))
        for one in site.flat:
            patch = site.regions[one.region].patch
            if patch.part == part.number and patch.kind == ("floor" if placed.in_floor else "ceiling"):
                yield from _level_spot(one, wall, (float(x), float(y), 0.0))


def _level_spot(one: FlatRegion, wall: Wall, p: tuple[float, float, float]) -> Iterator[_Spot]:
    """A place on a level surface; its sides lie along the wall, which must lie along the surface's own axes."""
    right, into = wall.rightwards, wall.inwards
    steps = []
    for x, y in (right, into):
        du = float(x) * one.frame.right[0] + float(y) * one.frame.right[1]
        dv = float(x) * one.frame.up[0] + float(y) * one.frame.up[1]
        steps.append((du, dv))
    yield _Spot(one, *one.frame.place(p), steps[0], steps[1])


def _faces_alike(one: Wall, other: Wall) -> bool:
    a, b = one.rightwards, other.rightwards
    return a[0] * b[0] + a[1] * b[1] > Fraction(999_999, 1_000_000)


def _on_surface(placed: Placed, spot: _Spot) -> Polygon | None:
    """The outline on the surface, whole millimetres; None where it leaves the surface."""
    region = Polygon(spot.flat.surface.outline_mm)
    if isinstance(placed, PlacedPenetration):
        u, v = round(spot.u), round(spot.v)
        dot = Polygon([(u - 0.5, v - 0.5), (u + 0.5, v - 0.5), (u + 0.5, v + 0.5), (u - 0.5, v + 0.5)])
        return dot if region.contains(ShapelyPoint(u, v)) else None
    (ru, rv), (tu, tv) = spot.right, spot.up
    w, h = placed.width_mm, placed.height_mm
    for du, dv in ((0, 0), (0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1)):
        u, v = round(spot.u) + du, round(spot.v) + dv
        corners = [
            (u, v), (u + round(ru * w), v + round(rv * w)),
            (u + round(ru * w + tu * h), v + round(rv * w + tv * h)), (u + round(tu * h), v + round(tv * h)),
        ]  # fmt: skip
        outline = Polygon(corners)
        if region.covers(outline):
            return outline
    return None


def _does_not_fit(placed: Placed, spots: Sequence[_Spot]) -> str:
    nearest = min(spots, key=_miss)
    surface = nearest.flat.surface
    us, vs = [u for u, _ in surface.outline_mm], [v for _, v in surface.outline_mm]
    size = f"{surface.id} is {max(us) - min(us)} mm wide and {max(vs) - min(vs)} mm high"
    place = f"starts {round(nearest.u)} mm from its left and {round(nearest.v)} mm up"
    extent = f", {placed.width_mm} x {placed.height_mm} mm" if isinstance(placed, PlacedOpening) else ""
    return f"{placed.id} does not lie wholly on {surface.id}: {size}, and it {place}{extent}."


def _miss(spot: _Spot) -> float:
    return float(Polygon(spot.flat.surface.outline_mm).distance(ShapelyPoint(spot.u, spot.v)))
