"""From the triangles of a solid to its flat faces, each in its own plane as seen from inside the solid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from workers.models.bodies import Body, Vector, cross, dot, minus

Shape = Polygon | MultiPolygon
_SAME_WAY = 1 - 1e-6  # normals within 0.08° are one plane's
_SAME_PLANE_MM = 1.0
_GRID_MM = 0.01
_LEVEL = math.cos(math.radians(1))  # within 1° of level or upright counts as that
UPRIGHT = math.sin(math.radians(1))


@dataclass(frozen=True, slots=True)
class FlatFace:
    """A flat face of a solid. u to the right and v up, seen from inside; `normal` points out of the solid."""

    normal: Vector
    origin: Vector
    right: Vector
    up: Vector
    shape: Shape

    def place(self, p: Vector) -> tuple[float, float]:
        """(u, v) of a point."""
        d = minus(p, self.origin)
        return (dot(d, self.right), dot(d, self.up))

    def off(self, p: Vector) -> float:
        """Distance of a point outwards from the plane."""
        return dot(minus(p, self.origin), self.normal)

    def space(self, u: float, v: float) -> Vector:
        """The point at (u, v)."""
        return (
            self.origin[0] + u * self.right[0] + v * self.up[0],
            self.origin[1] + u * self.right[1] + v * self.up[1],
            self.origin[2] + u * self.right[2] + v * self.up[2],
        )

    @property
    def kind(self) -> str:
        """wall, slope, ceiling or floor, by the way it faces."""
        if abs(self.normal[2]) < UPRIGHT:
            return "wall"
        if self.normal[2] > _LEVEL:
            return "ceiling"
        return "floor" if self.normal[2] < -_LEVEL else "slope"


@dataclass(frozen=True, slots=True)
class EnvelopeFace:
    """A part of a space's face that has no other space behind it: one simple outline."""

    space: int  # which space of the model
    name: str
    face: FlatFace
    outline: Polygon


def flat_faces(body: Body) -> tuple[FlatFace, ...]:
    """The flat faces of a solid, its triangles turned outwards first."""
    triangles = _outwards(body)
    groups: list[tuple[Vector, float, list[tuple[Vector, Vector, Vector]]]] = []
    for a, b, c in triangles:
        normal = cross(minus(b, a), minus(c, a))
        size = math.sqrt(dot(normal, normal))
        if size < 1e-6:
            continue
        n = (normal[0] / size, normal[1] / size, normal[2] / size)
        d = dot(n, a)
        for other, offset, members in groups:
            if dot(n, other) > _SAME_WAY and abs(dot(other, a) - offset) < _SAME_PLANE_MM:
                members.append((a, b, c))
                break
        else:
            groups.append((n, d, [(a, b, c)]))
    return tuple(_face(normal, members) for normal, _, members in groups)


def volume_mm3(body: Body) -> float:
    """Enclosed volume by the divergence theorem; positive where the triangles face outwards."""
    return (
        math.fsum(dot(body.points[a], cross(body.points[b], body.points[c])) for a, b, c in body.triangles)
        / 6
    )


def is_closed(body: Body) -> bool:
    """Does every directed edge have its opposite? Points within 0.01 mm are one."""
    keys = [tuple(round(axis / _GRID_MM) for axis in p) for p in body.points]
    edges: dict[tuple[object, object], int] = {}
    for triangle in body.triangles:
        for i in range(3):
            a, b = keys[triangle[i - 1]], keys[triangle[i]]
            if a != b:
                edges[a, b] = edges.get((a, b), 0) + 1
    return all(count == edges.get((b, a), 0) for (a, b), count in edges.items())


def _outwards(body: Body) -> list[tuple[Vector, Vector, Vector]]:
    turned = volume_mm3(body) < 0
    found = []
    for a, b, c in body.triangles:
        p, q, r = body.points[a], body.points[b], body.points[c]
        found.append((p, r, q) if turned else (p, q, r))
    return found


def _face(normal: Vector, triangles: Sequence[tuple[Vector, Vector, Vector]]) -> FlatFace:
    origin = triangles[0][0]
    right, up = axes(normal)
    bare = FlatFace(normal, origin, right, up, Polygon())
    parts = [
        shapely.set_precision(Polygon([bare.place(p) for p in corner]), _GRID_MM) for corner in triangles
    ]
    return FlatFace(normal, origin, right, up, solid_part(unary_union(parts)))


def axes(normal: Vector) -> tuple[Vector, Vector]:
    """Right and up on a plane whose normal points outwards, seen from inside."""
    x, y, z = normal
    level = math.hypot(x, y)
    if level < UPRIGHT:
        right: Vector = (-1.0, 0.0, 0.0) if z > 0 else (1.0, 0.0, 0.0)
    else:
        right = (y / level, -x / level, 0.0)
    up = cross(right, normal)
    size = math.sqrt(dot(up, up))
    return right, (up[0] / size, up[1] / size, up[2] / size)


def solid_part(shape: shapely.Geometry) -> Shape:
    """What of a shape has an area."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 0]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)
