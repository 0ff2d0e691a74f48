"""An independent judge of layouts: areas by shapely, in the surface's own frame."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, radians, sin

import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

from api_schema.layout import SurfaceLayout
from api_schema.surface import Surface


def wanted(surface: Surface, layout: SurfaceLayout, turn_in_mm: int = 0) -> shapely.Geometry:
    """What must be covered: the outline and each edge's allowance square to it, without the openings."""
    outline = Polygon(surface.outline_mm)
    corners = [*surface.outline_mm, surface.outline_mm[0]]
    turned = outline.exterior.is_ccw
    beside = {}
    for edge, (p, q) in zip(layout.edges, pairwise(corners), strict=True):
        beside[edge.edge] = _beside(p, q, edge.allowance_mm, left=not turned)
    shape = shapely.union_all([outline, *beside.values()])
    for opening in surface.openings:
        hole = Polygon(opening.outline_mm)
        ring = [*opening.outline_mm, opening.outline_mm[0]]
        cuts = [hole.buffer(-turn_in_mm, join_style="mitre") if turn_in_mm else hole]
        for (a, b), edge in ((e, k) for e in pairwise(ring) for k in layout.edges):
            p, q = corners[edge.edge], corners[edge.edge + 1]
            shared = LineString([a, b]).intersection(LineString([p, q]))
            if shared.length > 0:
                ends = list(shared.coords)
                cuts.append(_beside(ends[0], ends[1], edge.allowance_mm, left=not turned))
                cuts.append(_beside(ends[1], ends[0], edge.allowance_mm, left=not turned))
                if turn_in_mm:
                    cuts.append(hole)  # generous: what a turn-in adds at a door is judged elsewhere
        shape = shape.difference(shapely.union_all(cuts))
    return shape


def _beside(p: tuple[float, float], q: tuple[float, float], by: float, *, left: bool) -> Polygon:
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = hypot(dx, dy)
    nx, ny = (-dy / length * by, dx / length * by) if left else (dy / length * by, -dx / length * by)
    return Polygon([p, q, (q[0] + nx, q[1] + ny), (p[0] + nx, p[1] + ny)]).buffer(0)


def covered(layout: SurfaceLayout) -> shapely.Geometry:
    """What the pieces cover, in the surface's frame."""
    pieces = [
        box(piece.from_mm, strip.from_mm, piece.to_mm, strip.to_mm)
        for strip in layout.strips
        for piece in strip.pieces
    ]
    return into_surface(shapely.union_all(pieces), layout.direction)


def into_surface(shape: shapely.Geometry, direction: str) -> shapely.Geometry:
    """From the run frame (s, t) to the surface's (u, v)."""
    if direction == "across":
        return shape
    if direction == "up":
        return affinity.affine_transform(shape, [0, 1, 1, 0, 0, 0])
    angle = radians(float(direction))
    return affinity.affine_transform(shape, [cos(angle), -sin(angle), sin(angle), cos(angle), 0, 0])


def missing_mm2(surface: Surface, layout: SurfaceLayout, turn_in_mm: int = 0) -> float:
    """Area that should be covered and is not."""
    return wanted(surface, layout, turn_in_mm).difference(covered(layout)).area
