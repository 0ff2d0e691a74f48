"""From the faces of the solid to regions: faces of one patch that hang together, each with one plain outline."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from workers.engine.building.blocks import Corner, Patch, Solid, SolidFace
from workers.engine.building.planar import Point, Segment, area_twice, cross, dot, minus, untangle

Side = tuple[int, int]  # (face, k): the edge from its corner k to the next
CutLine = tuple[Point, Point]  # a plan point and a direction; for upright patches the direction is not used


@dataclass(frozen=True, slots=True)
class Region:
    """Faces of one patch that hang together; `outline` runs counter-clockwise seen from outside."""

    patch: Patch
    faces: tuple[int, ...]
    outline: tuple[Side, ...]


@dataclass(frozen=True, slots=True)
class Regions:
    """Every region, and which one lies across each side of a face."""

    regions: tuple[Region, ...]
    region_of: tuple[int, ...]  # by face
    mate: dict[Side, Side]


class NeedsCuts(Exception):  # noqa: N818 - a step of the method, not an error
    """Some regions have holes or touch themselves; carries the lines along which to part them."""

    def __init__(self, lines: dict[Patch, list[CutLine]]) -> None:
        self.lines = lines


def find_regions(solid: Solid, cuts: dict[Patch, list[CutLine]]) -> Regions:
    """The regions of a solid, parted along `cuts`.

    Raises:
        NeedsCuts: where a lined region would not be one plain outline.
    """
    faces = solid.faces
    mate = _mates(faces)
    parent = list(range(len(faces)))

    def top(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for (face, k), (other, _) in mate.items():
        patch = faces[face].patch
        if patch == faces[other].patch and not _is_cut(faces[face], k, cuts.get(patch, ())):
            one, two = sorted((top(face), top(other)))
            parent[two] = one
    members: dict[int, list[int]] = {}
    for face in range(len(faces)):
        members.setdefault(top(face), []).append(face)
    regions: list[Region] = []
    region_of = [0] * len(faces)
    needed: dict[Patch, list[CutLine]] = {}
    for group in members.values():
        for face in group:
            region_of[face] = len(regions)
        patch = faces[group[0]].patch
        outline: tuple[Side, ...] = ()
        if patch.finish is None:
            boundary = [
                (face, k)
                for face in group
                for k in range(len(faces[face].corners))
                if top(mate[face, k][0]) != top(group[0])
            ]
            found = _outline(faces, patch, boundary)
            if isinstance(found, list):
                needed.setdefault(patch, []).extend(found)
            else:
                outline = found
        regions.append(Region(patch, tuple(group), outline))
    if needed:
        raise NeedsCuts(needed)
    return Regions(tuple(regions), tuple(region_of), mate)


def _mates(faces: Sequence[SolidFace]) -> dict[Side, Side]:
    """For each side of a face the side of its neighbour; raises ValueError where the mesh is open."""
    waiting: dict[tuple[Corner, Corner], list[Side]] = {}
    for index, face in enumerate(faces):
        for k in range(len(face.corners)):
            edge = (face.corners[k], face.corners[(k + 1) % len(face.corners)])
            waiting.setdefault(edge, []).append((index, k))
    mate: dict[Side, Side] = {}
    for (a, b), sides in waiting.items():
        across = list(waiting.get((b, a), []))
        if len(across) != len(sides):
            raise ValueError("the surfaces do not close")
        for side in sides:  # more than one only where two corners of the building touch along a line
            if side in mate:
                across.remove(mate[side])
                continue
            patch = faces[side[0]].patch
            across.sort(
                key=lambda other: (
                    faces[other[0]].patch != patch,
                    faces[other[0]].patch.part != patch.part,
                    other,
                )
            )
            best = next(other for other in across if other not in mate)
            across.remove(best)
            mate[side], mate[best] = best, side
    return mate


def _is_cut(face: SolidFace, k: int, lines: Sequence[CutLine]) -> bool:
    a, b = _plan(face.corners[k]), _plan(face.corners[(k + 1) % len(face.corners)])
    for p, along in lines:
        if face.patch.kind in ("wall", "rim"):
            if a == p and b == p:
                return True
        elif cross(along, minus(a, p)) == 0 and cross(along, minus(b, p)) == 0:
            return True
    return False


def _plan(corner: Corner) -> Point:
    return (corner[0], corner[1])


def _flat(patch: Patch, corner: Corner) -> Point:
    """Exact flat coordinates in which the patch's faces run counter-clockwise."""
    if patch.wall is not None:
        return (dot(minus(patch.wall.end, patch.wall.start), _plan(corner)), corner[2])
    if patch.kind == "floor":
        return (corner[1], corner[0])
    return (corner[0], corner[1])


def _outline(
    faces: Sequence[SolidFace], patch: Patch, boundary: Sequence[Side]
) -> tuple[Side, ...] | list[CutLine]:
    """The one plain outline, or the lines that would part the region so that each part has one."""
    segments: list[Segment] = []
    solid_at: dict[Point, Corner] = {}
    for number, (face, k) in enumerate(boundary):
        corners = faces[face].corners
        a, b = corners[k], corners[(k + 1) % len(corners)]
        p, q = _flat(patch, a), _flat(patch, b)
        solid_at[p] = a
        segments.append((p, q, number))
    loops = untangle(segments)
    if len(loops) == 1 and len({p for _, p in loops[0]}) == len(loops[0]):
        return tuple(boundary[int(str(tag))] for tag, _ in loops[0])
    return [line for loop in loops for line in _cuts_for([p for _, p in loop], patch, solid_at)]


def _cuts_for(loop: Sequence[Point], patch: Patch, solid_at: dict[Point, Corner]) -> Iterator[CutLine]:
    twice = sorted({p for p in loop if list(loop).count(p) > 1})
    hole = area_twice(loop) < 0
    along = (Fraction(0), Fraction(1))
    if patch.wall is not None:
        ends = [min(loop), max(loop)] if hole else []
        for p in [*twice, *ends]:
            yield (_plan(solid_at[p]), along)
        return
    for p in twice:
        yield (_plan(solid_at[p]), along)
    if hole:
        places = [_plan(solid_at[p]) for p in loop]
        left, right = min(p[0] for p in places), max(p[0] for p in places)
        middle = Fraction(round((left + right) / 2))
        yield ((middle if left < middle < right else (left + right) / 2, places[0][1]), along)
