"""Regions as surfaces in their own planes, whole millimetres, with the junctions and finishes of their edges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from shapely.geometry import Polygon

from api_schema.building import Building
from api_schema.job import EdgeReference, Junction
from api_schema.mesh import SurfacePlane
from api_schema.problem import Fault, SurveyFaults
from api_schema.surface import EdgeFinish, Finish, Members, Surface, SurfaceKind
from workers.engine.building.blocks import Corner, SolidFace
from workers.engine.building.mesh import Vertex
from workers.engine.building.parts import Part, Wall, plain_name
from workers.engine.building.regions import Region, Regions, Side

_SHORTEST_EDGE_MM = 1.5  # a shorter one could vanish on rounding to whole millimetres
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True)
class Frame:
    """A plane's own coordinates: u to the right and v up, seen from inside."""

    origin: Vertex
    right: Vertex
    up: Vertex

    def place(self, p: Vertex) -> tuple[float, float]:
        """(u, v) of a point."""
        d = (p[0] - self.origin[0], p[1] - self.origin[1], p[2] - self.origin[2])
        return (_dot(d, self.right), _dot(d, self.up))

    def off(self, p: Vertex) -> float:
        """How far a point lies off the plane, positive into the room."""
        d = (p[0] - self.origin[0], p[1] - self.origin[1], p[2] - self.origin[2])
        n = _cross(self.right, self.up)
        return _dot(d, n)


@dataclass(frozen=True, slots=True)
class FlatRegion:
    """A lined region laid flat."""

    region: int
    surface: Surface
    frame: Frame

    @property
    def plane(self) -> SurfacePlane:
        """Where it lies in space."""
        x, y, z = self.frame.origin
        return SurfacePlane(
            self.surface.id,
            (round(x), round(y), round(z)),
            _unit(self.frame.right),
            _unit(self.frame.up),
        )


def _unit(axis: Vertex) -> tuple[Decimal, ...]:
    return tuple(Decimal(round(part * 10**6)).scaleb(-6) for part in axis)


_Run = tuple[tuple[Side, ...], int | Finish]  # sides in line, and the region or finish across them


def flatten(
    regions: Regions, faces: Sequence[SolidFace], parts: Sequence[Part], building: Building
) -> tuple[tuple[FlatRegion, ...], tuple[Junction, ...], dict[int, str]]:
    """Every lined region as a surface, the junctions between them, and the surface names by region.

    Raises:
        SurveyFaults: where a surface would be too narrow to be one in whole millimetres.
    """
    by_number = {part.number: part for part in parts}
    lined = [i for i, region in enumerate(regions.regions) if region.patch.finish is None]
    frames = {i: _frame(regions.regions[i], faces, by_number) for i in lined}
    names = _names(regions, lined, frames, faces, by_number)
    runs = _runs(regions, faces, lined)
    flat: dict[int, FlatRegion] = {}
    ends: dict[frozenset[Side], list[tuple[EdgeReference, int, int, Side]]] = {}
    order = sorted(lined, key=lambda i: _order(regions.regions[i], by_number, names[i]))
    for i in order:
        region, frame = regions.regions[i], frames[i]
        outline, across = _outline(runs[i], faces, frame)
        if len(outline) < 3 or not Polygon(outline).is_valid:
            raise _sliver(names[i], by_number[region.patch.part])
        finishes: list[EdgeFinish] = []
        for edge, (sides, other) in enumerate(across):
            if isinstance(other, int):
                key = frozenset((min(side, regions.mate[side])) for side in sides)
                ends.setdefault(key, []).append((EdgeReference(names[i], edge), i, other, sides[0]))
            else:
                finishes.append(EdgeFinish(edge, other))
        part = by_number[region.patch.part]
        top = max(p[2] for f in region.faces for p in faces[f].corners) - part.floor
        surface = Surface(
            id=names[i],
            kind=_kind(region),
            outline_mm=outline,
            members=_members(region, building, outline),
            room=part.storey.id,
            edges=tuple(finishes),
            working_height_mm=max(0, round(top)),
        )
        flat[i] = FlatRegion(i, surface, frame)
    junctions = []
    for found in ends.values():
        if len(found) == 2:
            (a, one, _, side), (b, other, _, _) = found
            junctions.append(Junction(a, b, _angle(frames[one], frames[other], faces, side)))
    return tuple(flat[i] for i in order), tuple(junctions), names


def _sliver(name: str, part: Part) -> SurveyFaults:
    detail = (
        f"{name} would be narrower than 2 mm somewhere: two walls, internal walls or dormers lie almost on each "
        "other. Move one by a few millimetres."
    )
    return SurveyFaults((Fault(part.pointer, detail),))


def _kind(region: Region) -> SurfaceKind:
    return "wall" if region.patch.kind == "rim" else region.patch.kind


def _order(region: Region, parts: dict[int, Part], name: str) -> tuple[int, int, int, str]:
    """Parts as listed; walls round the room, rims, slopes, ceilings, floors."""
    patch = region.patch
    walls = [wall.name for wall in parts[patch.part].walls]
    which = walls.index(patch.name) if patch.name in walls else len(walls)
    return (patch.part, ("wall", "rim", "slope", "ceiling", "floor").index(patch.kind), which, name)


def _names(
    regions: Regions,
    lined: Sequence[int],
    frames: dict[int, Frame],
    faces: Sequence[SolidFace],
    parts: dict[int, Part],
) -> dict[int, str]:
    """Storey and wall; a letter more where a patch falls into several surfaces, from the left and from below."""
    groups: dict[str, list[int]] = {}
    for i in lined:
        patch = regions.regions[i].patch
        groups.setdefault(plain_name(f"{parts[patch.part].storey.id}-{patch.name}"), []).append(i)
    names: dict[int, str] = {}
    taken = {name for name, group in groups.items() if len(group) == 1}
    for name, group in groups.items():
        if len(group) == 1:
            names[group[0]] = name
            continue
        ranked = sorted(group, key=lambda i: _lower_left(regions.regions[i], frames[i], faces))
        number = 0
        for i in ranked:
            while (said := f"{name}-{_letters(number)}") in taken:
                number += 1
            names[i] = said
            taken.add(said)
    return names


def _letters(number: int) -> str:
    return (_letters(number // 26 - 1) if number >= 26 else "") + _LETTERS[number % 26]


def _lower_left(region: Region, frame: Frame, faces: Sequence[SolidFace]) -> tuple[float, float, float]:
    """Absolute position for ordering: along the frame's right, then up."""
    corners = [_floats(p) for f in region.faces for p in faces[f].corners]
    return (
        round(min(_dot(p, frame.right) for p in corners), 3),
        round(min(_dot(p, frame.up) for p in corners), 3),
        round(min(p[2] for p in corners), 3),
    )


def _runs(regions: Regions, faces: Sequence[SolidFace], lined: Sequence[int]) -> dict[int, list[_Run]]:
    """The outline of each region as straight runs with one neighbour each, broken alike on both sides."""
    outlines = {i: regions.regions[i].outline for i in lined}

    def across(side: Side) -> int | Finish:
        other = regions.region_of[regions.mate[side][0]]
        return regions.regions[other].patch.finish or other

    breaks: set[tuple[Corner, frozenset[int | Finish]]] = set()
    for i, sides in outlines.items():
        for k, side in enumerate(sides):
            before = sides[k - 1]
            if across(before) != across(side) or not _in_line(faces, before, side):
                for one in (before, side):
                    breaks.add((_start(faces, side), frozenset((i, across(one)))))
    runs: dict[int, list[_Run]] = {}
    for i, sides in outlines.items():
        starts = [
            k for k, side in enumerate(sides) if (_start(faces, side), frozenset((i, across(side)))) in breaks
        ]
        runs[i] = []
        for n, k in enumerate(starts):
            stop = starts[(n + 1) % len(starts)]
            span = sides[k:stop] if stop > k else sides[k:] + sides[:stop]
            runs[i].append((span, across(sides[k])))
    return runs


def _start(faces: Sequence[SolidFace], side: Side) -> Corner:
    return faces[side[0]].corners[side[1]]


def _end(faces: Sequence[SolidFace], side: Side) -> Corner:
    corners = faces[side[0]].corners
    return corners[(side[1] + 1) % len(corners)]


def _in_line(faces: Sequence[SolidFace], before: Side, after: Side) -> bool:
    a, b, c = _start(faces, before), _start(faces, after), _end(faces, after)
    d = [b[k] - a[k] for k in range(3)]
    e = [c[k] - b[k] for k in range(3)]
    return d[0] * e[1] == d[1] * e[0] and d[1] * e[2] == d[2] * e[1] and d[0] * e[2] == d[2] * e[0]


def _outline(
    runs: Sequence[_Run], faces: Sequence[SolidFace], frame: Frame
) -> tuple[tuple[tuple[int, int], ...], list[_Run]]:
    """Whole-millimetre corners counter-clockwise seen from inside, and the run that starts at each."""
    kept = [run for run in runs if _length(run, faces) >= _SHORTEST_EDGE_MM]
    turned = kept[::-1]  # seen from inside the outline runs the other way
    corners = [frame.place(_floats(_end(faces, run[0][-1]))) for run in turned]
    whole = [(round(u), round(v)) for u, v in corners]
    first = min(range(len(whole)), key=lambda i: (whole[i][1], whole[i][0]))
    return tuple(whole[first:] + whole[:first]), turned[first:] + turned[:first]


def _length(run: _Run, faces: Sequence[SolidFace]) -> float:
    return math.dist(_floats(_start(faces, run[0][0])), _floats(_end(faces, run[0][-1])))


def _frame(region: Region, faces: Sequence[SolidFace], parts: dict[int, Part]) -> Frame:
    patch = region.patch
    corners = [_floats(p) for f in region.faces for p in faces[f].corners]
    if patch.wall is not None:
        x, y = patch.wall.rightwards
        right, up = (float(x), float(y), 0.0), (0.0, 0.0, 1.0)
    elif patch.kind == "floor":
        right, up = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
    elif patch.kind == "ceiling":
        right, up = (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
    else:
        n = _normal([faces[f].corners for f in region.faces])  # outwards, so upwards
        right, up = _axes(n, patch.eave)
    start = corners[0]
    shift = Frame(start, right, up)
    u = min(shift.place(p)[0] for p in corners)
    v = min(shift.place(p)[1] for p in corners)
    if patch.kind == "wall":
        v = float(parts[patch.part].floor) - start[2]
    origin = (
        start[0] + right[0] * u + up[0] * v,
        start[1] + right[1] * u + up[1] * v,
        start[2] + right[2] * u + up[2] * v,
    )
    return Frame(origin, right, up)


def _axes(n: Vertex, eave: Wall | None) -> tuple[Vertex, Vertex]:
    """Right and up on a slope with the outward normal n: right along its eave, or level where it has none."""
    if eave is None:
        level = math.hypot(n[0], n[1])
        right = (n[1] / level, -n[0] / level, 0.0)
    else:
        x, y = eave.rightwards
        tilt = float(x) * n[0] + float(y) * n[1]
        along = (float(x) - tilt * n[0], float(y) - tilt * n[1], -tilt * n[2])
        size = math.sqrt(_dot(along, along))
        right = (along[0] / size, along[1] / size, along[2] / size)
    return right, _cross(right, n)


def _normal(faces: Sequence[Sequence[Corner]]) -> Vertex:
    """Unit normal of faces that lie in one plane, or nearly so, weighted by area."""
    total = (0.0, 0.0, 0.0)
    for corners in faces:
        a = _floats(corners[0])
        for i in range(1, len(corners) - 1):
            b, c = _floats(corners[i]), _floats(corners[i + 1])
            n = _cross((b[0] - a[0], b[1] - a[1], b[2] - a[2]), (c[0] - a[0], c[1] - a[1], c[2] - a[2]))
            total = (total[0] + n[0], total[1] + n[1], total[2] + n[2])
    size = math.sqrt(_dot(total, total))
    return (total[0] / size, total[1] / size, total[2] / size)


def _angle(one: Frame, other: Frame, faces: Sequence[SolidFace], side: Side) -> Decimal:
    """Angle between two surfaces measured through the room: 90 at a plain corner, over 180 where it juts in."""
    n, m = _cross(one.up, one.right), _cross(other.up, other.right)  # outwards
    a, b = _floats(_start(faces, side)), _floats(_end(faces, side))
    edge = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    bend = math.degrees(math.acos(max(-1.0, min(1.0, _dot(n, m)))))
    inner = 180 - bend if _dot(_cross(n, m), edge) >= 0 else 180 + bend
    return Decimal(str(round(inner, 1)))


def _members(region: Region, building: Building, outline: Sequence[tuple[int, int]]) -> Members:
    if region.patch.wall is not None:
        return building.studs
    if region.patch.kind == "slope":
        return building.rafters
    if building.joists is not None:
        return building.joists
    width = max(u for u, _ in outline) - min(u for u, _ in outline)
    height = max(v for _, v in outline) - min(v for _, v in outline)
    return Members(direction="up" if height <= width else "across", centres_mm=400, width_mm=45)


def _floats(p: Sequence[Fraction] | Sequence[float]) -> Vertex:
    return (float(p[0]), float(p[1]), float(p[2]))


def _dot(a: Vertex, b: Vertex) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _cross(a: Vertex, b: Vertex) -> Vertex:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
