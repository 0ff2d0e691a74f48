"""The region to cover: the outline with its allowances, without the openings, in the run frame.

A region is a set of rings in whole mm read by the even-odd rule: a point is to be covered where a ray from it
crosses the rings an odd number of times. Rings may share stretches of edges but never cross.
"""

from __future__ import annotations

from itertools import pairwise

import shapely
from shapely import affinity
from shapely.geometry import Polygon

from api_schema.surface import Surface
from workers.engine.layout.frame import turn
from workers.engine.layout.offset import Ring, clean, counter_clockwise, grown, moved, rings_of

Rings = tuple[tuple[tuple[int, int], ...], ...]
_Point = tuple[int, int]
_Stretch = tuple[int, _Point, _Point, int]  # opening edge, from, to, the outline's allowance there


def region_of(surface: Surface, allowances: tuple[int, ...], turn_in_mm: int) -> Rings:
    """The region of `surface` in its own frame; `allowances` by edge of the outline as stored, in mm.

    An opening that stands on an edge of the outline (a door on the floor) also takes that edge's allowance away
    over its width: no membrane is wanted across the doorway.
    """
    corners, distances = counter_clockwise(list(surface.outline_mm), list(allowances))
    outline, distances = clean(corners, distances)
    simple = moved(outline, distances, outward=True)
    if simple is not None and len(simple) > 4 and not Polygon(simple).is_valid:
        simple = None
    outer = [simple] if simple is not None else grown(outline, distances)
    holes: list[Ring] = []
    cuts: list[Polygon] = []
    for opening in surface.openings:
        ring, _ = counter_clockwise(list(opening.outline_mm), [])
        ring, _ = clean(ring, [0] * len(ring))
        stretches = list(_shared(ring, outline, distances))
        hole = _hole(ring, stretches, turn_in_mm)
        if hole is None:
            cuts += _cuts(ring, stretches, turn_in_mm)
        elif stretches and not (len(outer) == 1 and Polygon(outer[0]).covers(Polygon(hole))):
            cuts.append(Polygon(hole))
        elif hole:
            holes.append(hole)
    if cuts:
        return _cut_out([*outer, *holes], cuts)
    return tuple(tuple(ring) for ring in (*outer, *holes))


def into_run(rings: Rings, direction: str) -> Rings:
    """Rings of the surface's frame in the run frame of `direction`.

    Turned by an angle, every corner is rounded to whole mm; the region is grown by 1 mm beforehand, so that
    nothing is under-covered.
    """
    if direction == "across":
        return rings
    if direction == "up":
        return tuple(tuple((v, u) for u, v in ring) for ring in rings)
    cos, sin = turn(direction)
    larger = shapely.buffer(_shape(list(map(list, rings))), 1.0, join_style="mitre", mitre_limit=4.0)
    turned = affinity.affine_transform(larger, [cos, sin, -sin, cos, 0.0, 0.0])
    return tuple(tuple(ring) for ring in rings_of(shapely.set_precision(turned, 1.0)))


def _shape(rings: list[Ring]) -> shapely.Geometry:
    shape: shapely.Geometry = Polygon()
    for ring in rings:
        shape = shapely.symmetric_difference(shape, Polygon(ring))
    return shape


def _cut_out(rings: list[Ring], cuts: list[Polygon]) -> Rings:
    """The general way to take openings out, grown by 1 mm because corners are then rounded to whole mm."""
    left = shapely.difference(_shape(rings), shapely.union_all(cuts))
    larger = shapely.buffer(left, 1.0, join_style="mitre", mitre_limit=4.0)
    return tuple(tuple(ring) for ring in rings_of(shapely.set_precision(larger, 1.0)))


def _shared(ring: Ring, outline: Ring, distances: list[int]) -> list[_Stretch]:
    """Where edges of an opening lie on edges of the outline."""
    found: list[_Stretch] = []
    for i, (a, b) in enumerate(pairwise([*ring, ring[0]])):
        dx, dy = b[0] - a[0], b[1] - a[1]
        for (p, q), distance in zip(pairwise([*outline, outline[0]]), distances, strict=True):
            if dx * (p[1] - a[1]) != dy * (p[0] - a[0]) or dx * (q[1] - a[1]) != dy * (q[0] - a[0]):
                continue
            along = sorted((p, q), key=lambda c: (c[0] - a[0]) * dx + (c[1] - a[1]) * dy)
            low = max(a, along[0], key=lambda c: (c[0] - a[0]) * dx + (c[1] - a[1]) * dy)
            high = min(b, along[1], key=lambda c: (c[0] - a[0]) * dx + (c[1] - a[1]) * dy)
            if (high[0] - low[0]) * dx + (high[1] - low[1]) * dy > 0:
                found.append((i, low, high, distance))
    return found


def _hole(ring: Ring, stretches: list[_Stretch], turn_in_mm: int) -> Ring | None:
    """The opening as cut out; empty where nothing is left of it, None where only the general way does."""
    distances = [-turn_in_mm] * len(ring)
    for edge, low, high, distance in stretches:
        (ax, ay), (bx, by) = ring[edge], ring[(edge + 1) % len(ring)]
        if (low, high) != ((ax, ay), (bx, by)) or (ax != bx and ay != by):
            return None
        distances[edge] = distance
    if stretches:
        return moved(ring, distances, outward=False)
    if turn_in_mm == 0:
        return ring
    hole = moved(ring, distances, outward=False)
    return hole if hole is not None and Polygon(hole).is_valid else _shrunk(ring, turn_in_mm)


def _shrunk(ring: Ring, by: int) -> Ring:
    """The general way to move every edge of an opening inward; the largest part where it falls apart."""
    inner = shapely.set_precision(Polygon(ring).buffer(-by - 1.0, join_style="mitre"), 1.0)
    rings = rings_of(inner)
    return max(rings, key=lambda one: Polygon(one).area, default=[])


def _cuts(ring: Ring, stretches: list[_Stretch], turn_in_mm: int) -> list[Polygon]:
    """An opening that shares part of an edge, or a slanted edge, with the outline; it is not turned in there."""
    cuts = (
        [Polygon(ring)] if turn_in_mm == 0 else [Polygon(ring).buffer(-float(turn_in_mm), join_style="mitre")]
    )
    for _, (ax, ay), (bx, by), distance in stretches:
        dx, dy = bx - ax, by - ay
        length = float(dx * dx + dy * dy) ** 0.5
        out = (distance + 2) / length
        inward = turn_in_mm / length
        x0, y0, x1, y1 = ax + dx * inward, ay + dy * inward, bx - dx * inward, by - dy * inward
        if 2 * turn_in_mm < length:
            cuts.append(
                Polygon(
                    [
                        (x0 - dy * inward, y0 + dx * inward), (x0 + dy * out, y0 - dx * out),
                        (x1 + dy * out, y1 - dx * out), (x1 - dy * inward, y1 + dx * inward),
                    ]
                )
            )  # fmt: skip
    return cuts
