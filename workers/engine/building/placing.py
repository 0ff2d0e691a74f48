"""Openings and penetrations put on to the surfaces from where a fitter measured them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon

from api_schema.building import Building, PlacedOpening, PlacedPenetration
from api_schema.problem import Fault
from api_schema.surface import Opening, Penetration, Surface
from workers.engine.building.blocks import SolidFace
from workers.engine.building.flatten import FlatRegion
from workers.engine.building.parts import Part, Wall
from workers.engine.building.regions import Region

Placed = PlacedOpening | PlacedPenetration
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
    """The surfaces with their openings and penetrations, and what could not be placed and why."""
    faults: list[Fault] = []
    openings: dict[str, list[Opening]] = {}
    penetrations: dict[str, list[Penetration]] = {}
    holes: dict[str, list[tuple[str, Polygon]]] = {}
    for field, names in (
        ("openings", [one.id for one in building.openings]),
        ("penetrations", [one.id for one in building.penetrations]),
    ):
        for name, count in Counter(names).items():
            if count > 1:
                last = max(i for i, other in enumerate(names) if other == name)
                faults.append(
                    Fault(f"/{field}/{last}/id", f'"{name}" is used {count} times; give each its own name.')
                )
    for number, opening in enumerate(building.openings):
        where = f"/openings/{number}"
        found = _find(opening, where, site)
        if isinstance(found, Fault):
            faults.append(found)
            continue
        surface, outline = found
        for other, polygon in holes.setdefault(surface, []):
            if polygon.intersection(outline).area > 1:
                faults.append(
                    Fault(where, f"{opening.id} overlaps {other} on {surface}; check where they lie.")
                )
        holes[surface].append((opening.id, outline))
        corners = tuple((round(x), round(y)) for x, y in outline.exterior.coords[:-1])
        openings.setdefault(surface, []).append(Opening(opening.id, opening.kind, corners))
    for number, penetration in enumerate(building.penetrations):
        where = f"/penetrations/{number}"
        found = _find(penetration, where, site)
        if isinstance(found, Fault):
            faults.append(found)
            continue
        surface, middle = found
        u, v = round(middle.centroid.x), round(middle.centroid.y)
        for other, polygon in holes.get(surface, []):
            if polygon.contains(ShapelyPoint(u, v)):
                faults.append(
                    Fault(
                        where,
                        f"{penetration.id} lies in the opening {other} on {surface}; check where it lies.",
                    )
                )
        penetrations.setdefault(surface, []).append(
            Penetration(
                id=penetration.id, kind=penetration.kind, at_mm=(u, v), diameter_mm=penetration.diameter_mm,
                width_mm=penetration.width_mm, height_mm=penetration.height_mm, free_end=penetration.free_end,
                count=penetration.count, note=penetration.note,
            )
        )  # fmt: skip
    surfaces = tuple(
        replace(
            one.surface,
            openings=tuple(openings.get(one.surface.id, ())),
            penetrations=tuple(penetrations.get(one.surface.id, ())),
        )
        for one in site.flat
    )
    return surfaces, faults


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
