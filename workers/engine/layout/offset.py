"""Moving the edges of a polygon outward or inward, each by its own distance, in whole millimetres.

Edges are moved as exact lines; corners are mitred. Upright and level edges land exactly. A slanted edge is moved
1 mm farther towards more cover, because its corners are rounded to whole mm and a corner moves at most 0.71 mm by
that: the result never covers less than the exact figure.
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot, isqrt

import shapely
from shapely.geometry import Polygon

Ring = list[tuple[int, int]]
_LONGEST_MITRE = 4  # a sharper corner is cut off square: the mitre would be a long useless tongue


def signed_double_area(ring: Ring) -> int:
    """Twice the area, positive where the corners go counter-clockwise."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise([*ring, ring[0]]))


def counter_clockwise(ring: Ring, distances: list[int]) -> tuple[Ring, list[int]]:
    """The same polygon and its distances by edge, turned counter-clockwise where it is not."""
    if signed_double_area(ring) >= 0:
        return ring, distances
    return [ring[0], *ring[:0:-1]], distances[::-1]


def clean(ring: Ring, distances: list[int]) -> tuple[Ring, list[int]]:
    """Without corners that repeat, and without those on a straight line between edges of equal distance."""
    corners: Ring = []
    kept: list[int] = []
    for (corner, following), distance in zip(pairwise([*ring, ring[0]]), distances, strict=True):
        if corner != following:
            corners.append(corner)
            kept.append(distance)
    count = len(corners)
    straight = [
        kept[i - 1] == kept[i] and _turn(corners[i - 1], corners[i], corners[(i + 1) % count]) == 0
        for i in range(count)
    ]
    return (
        [corner for corner, flat in zip(corners, straight, strict=True) if not flat],
        [distance for distance, flat in zip(kept, straight, strict=True) if not flat],
    )


def moved(ring: Ring, distances: list[int], *, outward: bool) -> Ring | None:
    """A counter-clockwise polygon with edge i moved by `distances[i]`; positive is away from the inside.

    `outward` says on which side more cover lies: True for an outline, False for an opening, whose hole may only
    come out smaller. None where an edge vanishes or turns round: then the general way (`grown`) must be taken.
    """
    if not any(distances):
        return ring
    lines = [
        _line(p, q, distance, outward=outward)
        for (p, q), distance in zip(pairwise([*ring, ring[0]]), distances, strict=True)
    ]
    corners: list[Ring] = []
    for i, corner in enumerate(ring):
        corners.append(_corner(corner, lines[i - 1], lines[i], outward=outward))
    for i, line in enumerate(lines):
        (x0, y0), (x1, y1) = corners[i][-1], corners[(i + 1) % len(lines)][0]
        if (x1 - x0) * line[0] + (y1 - y0) * line[1] <= 0:
            return None
    return [point for points in corners for point in points]


def grown(ring: Ring, distances: list[int]) -> list[Ring]:
    """The general way for an outline: itself, joined with what every edge and outer corner adds."""
    parts = [Polygon(ring)]
    count = len(ring)
    for i in range(count):
        p, q = ring[i], ring[(i + 1) % count]
        line = _line(p, q, distances[i], outward=True)
        if distances[i]:
            parts.append(Polygon([p, q, _foot(q, line), _foot(p, line)]))
        before = _line(ring[i - 1], p, distances[i - 1], outward=True)
        if before[0] * line[1] - before[1] * line[0] > 0 and (distances[i] or distances[i - 1]):
            tips = _corner(p, before, line, outward=True)
            parts.append(Polygon([p, _foot(p, before), *tips, _foot(p, line)]).buffer(0))
    return rings_of(shapely.set_precision(shapely.union_all(parts), 1.0))


def rings_of(shape: shapely.Geometry) -> list[Ring]:
    """Every ring of every polygon in `shape`, in whole mm."""
    rings: list[Ring] = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon):
            rings += [
                [(round(x), round(y)) for x, y in ring.coords[:-1]]
                for ring in (part.exterior, *part.interiors)
            ]
    return rings


_Line = tuple[int, int, int, float]  # dx, dy, dy·x − dx·y on the line, distance as moved


def _line(p: tuple[int, int], q: tuple[int, int], distance: int, *, outward: bool) -> _Line:
    dx, dy = q[0] - p[0], q[1] - p[1]
    at = dy * p[0] - dx * p[1]
    if distance == 0:
        return dx, dy, at, 0.0
    if dx == 0 or dy == 0:
        return dx, dy, at + distance * (abs(dx) + abs(dy)), float(distance)
    farther = distance + (1 if outward else -1)
    root = isqrt(farther * farther * (dx * dx + dy * dy))
    return dx, dy, at + (root + 1 if farther > 0 else -root - 1), float(farther)


def _turn(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _foot(point: tuple[int, int], line: _Line) -> tuple[int, int]:
    """The foot of `point`, a point of the edge, on the moved line."""
    dx, dy, _, distance = line
    length = hypot(dx, dy)
    return round(point[0] + dy * distance / length), round(point[1] - dx * distance / length)


def _corner(corner: tuple[int, int], before: _Line, after: _Line, *, outward: bool) -> Ring:
    """The moved corner: one mitred point, or two where a mitre would run away or cut into an edge's cover."""
    dx0, dy0, at0, distance0 = before
    dx1, dy1, at1, distance1 = after
    bend = dx0 * dy1 - dy0 * dx1  # positive at an outer corner
    onward = dx0 * dx1 + dy0 * dy1
    reach = max(abs(distance0), abs(distance1))
    if bend:
        x, y = at1 * dx0 - at0 * dx1, at1 * dy0 - at0 * dy1  # the crossing of the moved lines, times `bend`
        mitre = (_nearest(x, bend), _nearest(y, bend))
        out_x, out_y = x - corner[0] * bend, y - corner[1] * bend
        if bend < 0:
            out_x, out_y = -out_x, -out_y
        near = out_x * out_x + out_y * out_y <= (_LONGEST_MITRE * reach * bend) ** 2
        full = out_x * dx0 + out_y * dy0 >= 0 >= out_x * dx1 + out_y * dy1  # neither edge loses cover
        if not outward or (bend < 0 and (near or onward < 0)) or (bend > 0 and near and full):
            return [mitre]
    first, second = _foot(corner, before), _foot(corner, after)
    if bend > 0 and onward < 0:  # a sharp point is cut off square, `reach` past the corner
        first = _further(first, before, reach)
        second = _further(second, after, -reach)
    return [first] if first == second else [first, second]


def _further(point: tuple[int, int], line: _Line, by: float) -> tuple[int, int]:
    dx, dy, _, _ = line
    length = hypot(dx, dy)
    return round(point[0] + dx * by / length), round(point[1] + dy * by / length)


def _nearest(top: int, bottom: int) -> int:
    """top ÷ bottom to the nearest whole number, halves away from zero so that mirrored figures stay mirrored."""
    if bottom < 0:
        top, bottom = -top, -bottom
    return (2 * top + bottom) // (2 * bottom) if top >= 0 else -((-2 * top + bottom) // (2 * bottom))
