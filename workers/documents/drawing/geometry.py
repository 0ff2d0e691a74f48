"""Plane geometry of a drawing: the run frame, lines cut by outlines, outlines cut by bands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

Point = tuple[float, float]
_HAIR_MM = 0.01  # a line is moved this much off a corner it would run through


@dataclass(frozen=True, slots=True)
class RunFrame:
    """The frame of `api_schema.layout`: s along the strips, t across them; millimetres of the surface."""

    s_axis: Point
    t_axis: Point

    @classmethod
    def of(cls, direction: str) -> RunFrame:
        """The frame of "across", "up" or degrees from the right upwards."""
        if direction == "across":
            return cls((1.0, 0.0), (0.0, 1.0))
        if direction == "up":
            return cls((0.0, 1.0), (1.0, 0.0))
        angle = math.radians(float(direction))
        return cls((math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle)))

    def to_run(self, point: Point) -> Point:
        """(s, t) of a point (u, v)."""
        u, v = point
        return (
            u * self.s_axis[0] + v * self.s_axis[1],
            u * self.t_axis[0] + v * self.t_axis[1],
        )

    def to_surface(self, run: Point) -> Point:
        """(u, v) of a point (s, t); both axes are of length one and square to each other."""
        s, t = run
        return (
            s * self.s_axis[0] + t * self.t_axis[0],
            s * self.s_axis[1] + t * self.t_axis[1],
        )


def box_of(points: Sequence[Point]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of some points."""
    us, vs = [point[0] for point in points], [point[1] for point in points]
    return min(us), min(vs), max(us), max(vs)


def clip_to_box(outline: Sequence[Point], box: tuple[float, float, float, float]) -> list[Point]:
    """The part of an outline inside a box (Sutherland–Hodgman); joined by hairlines where it falls apart."""
    left, bottom, right, top = box
    for axis, limit, sign in ((0, left, 1), (0, right, -1), (1, bottom, 1), (1, top, -1)):
        outline = _clip_to_half_plane(outline, axis, limit, sign)
    return list(outline)


def _clip_to_half_plane(outline: Sequence[Point], axis: int, limit: float, sign: int) -> list[Point]:
    kept: list[Point] = []
    for here, after in zip(outline, [*outline[1:], *outline[:1]], strict=True):
        inside, inside_after = sign * (here[axis] - limit) >= 0, sign * (after[axis] - limit) >= 0
        if inside:
            kept.append(here)
        if inside != inside_after:
            part = (limit - here[axis]) / (after[axis] - here[axis])
            kept.append((here[0] + part * (after[0] - here[0]), here[1] + part * (after[1] - here[1])))
    return kept


def spans_inside(rings: Sequence[Sequence[Point]], t: float) -> list[tuple[float, float]]:
    """Where the line at `t` of a run frame lies inside an outline and outside its holes, as (s from, s to).

    `rings` are the outline and the holes in run coordinates, in any order: a point is inside where an odd number
    of edges lies to its left.
    """
    t += _HAIR_MM
    crossings = sorted(
        here[0] + (t - here[1]) / (after[1] - here[1]) * (after[0] - here[0])
        for ring in rings
        for here, after in zip(ring, [*ring[1:], *ring[:1]], strict=True)
        if (here[1] > t) != (after[1] > t)
    )
    pairs = zip(crossings[::2], crossings[1::2], strict=True)
    return [(start, end) for start, end in pairs if end - start > 1]


def is_inside(rings: Sequence[Sequence[Point]], point: Point) -> bool:
    """Whether a point lies inside an outline and outside its holes."""
    x, y = point[0], point[1] + _HAIR_MM
    odd = False
    for ring in rings:
        for here, after in zip(ring, [*ring[1:], *ring[:1]], strict=True):
            if (here[1] > y) != (after[1] > y):
                odd ^= x < here[0] + (y - here[1]) / (after[1] - here[1]) * (after[0] - here[0])
    return odd


def signed_area(outline: Sequence[Point]) -> float:
    """Twice-halved shoelace area; positive where the corners run counter-clockwise."""
    return (
        sum(
            here[0] * after[1] - after[0] * here[1]
            for here, after in zip(outline, [*outline[1:], *outline[:1]], strict=True)
        )
        / 2
    )
