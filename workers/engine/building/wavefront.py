"""Roof planes over a footprint: every wall's slope moves inward as it rises, until the slopes meet.

The front at height t is the footprint with each edge moved in by what its slope has covered at t (a vertical wall
does not move). Where the front touches itself it is cut apart, all places at once, by `planar.untangle`; each edge
sweeps the plan of its face. With equal pitches this is the straight skeleton. All arithmetic is exact, so events
are simultaneous or they are not; nothing is decided within a tolerance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

from workers.engine.building.covers import Plane
from workers.engine.building.planar import (
    Loop,
    Point,
    Segment,
    Tag,
    area_twice,
    cross,
    dot,
    minus,
    root,
    untangle,
)

_MOST_STEPS = 2000


@dataclass(frozen=True, slots=True)
class Eave:
    """One edge of the footprint, region on its left, and how far it moves in per mm of rise, from which height."""

    start: Point
    end: Point
    runs: tuple[tuple[Fraction, Fraction], ...]  # (from height, run per rise); run 0 is a vertical wall


@dataclass(frozen=True, slots=True)
class Face:
    """The plan of one roof plane."""

    eave: int | None  # index of the eave it rises from; None for the level top
    part: int  # which of the eave's runs
    loops: tuple[Loop, ...]
    plane: Plane


class RoofUnsolved(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """No roof was found, or the one found failed its checks; the message says why."""


@dataclass(frozen=True, slots=True)
class _Line:
    """The moving line of an eave: normal · p = at + speed · t."""

    normal: Point  # to the left, in whole numbers without a common divisor
    at: Fraction
    speed: Fraction
    part: int


_Corner = tuple[int, Point]  # the edge that starts here, and where


def roof_over(eaves: Sequence[Eave], base: Fraction, top: Fraction | None) -> tuple[Face, ...]:
    """The faces of the roof that rises from `eaves` (outer loop and courtyards, in order) at height `base`.

    `top`: height of a level ceiling that ends it. Heights in mm.

    Raises:
        RoofUnsolved: where the slopes never close, or the result fails its checks.
    """
    front = _loops_of(eaves)
    footprint_twice = sum((area_twice([p for _, p in loop]) for loop in front), Fraction(0))
    breaks = sorted({height for eave in eaves for height, _ in eave.runs if height > base})
    swept: dict[tuple[int, int], list[Segment]] = {}
    planes: dict[tuple[int, int], Plane] = {}
    lines = [_line(eave, base, None) for eave in eaves]
    now = base
    try:
        for _ in range(_MOST_STEPS):
            _note_planes(lines, planes)
            stop = min([b for b in breaks if b > now] + ([top] if top is not None else []), default=None)
            event = _next_event(front, lines, now)
            then = min((height for height in (stop, event) if height is not None), default=None)
            if then is None:
                raise RoofUnsolved("its slopes never meet: name more walls that carry a slope")
            front = _advance(front, lines, then - now, swept)
            if then == event:
                front = [_corners(loop) for loop in untangle(list(_sides(front)))]
            now = then
            if not front or now == top:
                break
            lines = [_line(eave, now, line) for eave, line in zip(eaves, lines, strict=True)]
        else:
            raise RoofUnsolved("it has too many folds")
        faces = _faces(swept, planes)
    except ValueError as error:
        raise error if isinstance(error, RoofUnsolved) else RoofUnsolved(str(error)) from error
    if front:
        level = (Fraction(0), Fraction(0), now)
        faces.append(Face(None, 0, tuple(tuple(p for _, p in loop) for loop in front), level))
    _check(faces, eaves, footprint_twice)
    return tuple(faces)


def _corners(loop: Sequence[tuple[Tag, Point]]) -> list[_Corner]:
    """The corners of a loop, without those in the middle of an edge."""
    tagged = [(int(str(tag)), p) for tag, p in loop]
    return [corner for i, corner in enumerate(tagged) if corner[0] != tagged[i - 1][0]]


def _loops_of(eaves: Sequence[Eave]) -> list[list[_Corner]]:
    loops: list[list[_Corner]] = [[]]
    for index, eave in enumerate(eaves):
        if loops[-1] and eaves[index - 1].end != eave.start:
            loops.append([])
        loops[-1].append((index, eave.start))
    return loops


def _line(eave: Eave, now: Fraction, before: _Line | None) -> _Line:
    """The moving line from height `now` on."""
    part = max((i for i, (height, _) in enumerate(eave.runs) if height <= now), default=0)
    if before is not None and before.part == part:
        return before
    along = minus(eave.end, eave.start)
    divisor = gcd(along[0].numerator, along[1].numerator)  # footprints are whole millimetres
    normal = (-along[1] / divisor, along[0] / divisor)
    speed = root(dot(normal, normal)) * eave.runs[part][1]
    reached = dot(normal, eave.start) if before is None else before.at + before.speed * now
    return _Line(normal, reached - speed * now, speed, part)


def _note_planes(lines: Sequence[_Line], planes: dict[tuple[int, int], Plane]) -> None:
    for index, line in enumerate(lines):
        if line.speed and (index, line.part) not in planes:
            a, b = line.normal[0] / line.speed, line.normal[1] / line.speed
            planes[index, line.part] = (a, b, -line.at / line.speed)


def _velocity(one: _Line, other: _Line) -> Point:
    """How the corner between two moving lines moves per mm of rise."""
    turn = cross(one.normal, other.normal)
    if turn == 0:
        if one.normal != other.normal or one.speed != other.speed:
            raise RoofUnsolved("two slopes in one line rise differently")
        square = dot(one.normal, one.normal)
        return (one.normal[0] * one.speed / square, one.normal[1] * one.speed / square)
    return (
        (one.speed * other.normal[1] - other.speed * one.normal[1]) / turn,
        (other.speed * one.normal[0] - one.speed * other.normal[0]) / turn,
    )


def _moving(
    front: Sequence[Sequence[_Corner]], lines: Sequence[_Line]
) -> list[tuple[int, Point, Point, Point, Point, bool]]:
    """Every edge of the front: (edge, start, its velocity, end, its velocity, is the start not convex)."""
    edges = []
    for loop in front:
        speeds = [_velocity(lines[loop[i - 1][0]], lines[loop[i][0]]) for i in range(len(loop))]
        for i, (edge, start) in enumerate(loop):
            after = (i + 1) % len(loop)
            hollow = cross(lines[loop[i - 1][0]].normal, lines[edge].normal) <= 0
            edges.append((edge, start, speeds[i], loop[after][1], speeds[after], hollow))
    return edges


def _next_event(front: Sequence[Sequence[_Corner]], lines: Sequence[_Line], now: Fraction) -> Fraction | None:
    """The first height above `now` at which an edge vanishes or a corner meets another edge."""
    edges = _moving(front, lines)
    soonest: Fraction | None = None
    bound = float("inf")
    for edge, start, start_speed, end, end_speed, _ in edges:
        normal = lines[edge].normal
        along = (normal[1], -normal[0])
        closing = -dot(along, minus(end_speed, start_speed))
        if closing > 0:
            wait = dot(along, minus(end, start)) / closing
            if wait > 0 and (soonest is None or wait < soonest):
                soonest, bound = wait, float(wait) * (1 + 1e-9)
    for _, corner, speed, _, _, hollow in edges:
        if (
            not hollow
        ):  # an edge that reaches a convex corner has shrunk both edges beside it to nothing before
            continue
        for edge, start, start_speed, end, end_speed, _ in edges:
            if corner in (start, end):
                continue
            line = lines[edge]
            nearing = line.speed - dot(line.normal, speed)
            gap = dot(line.normal, corner) - (line.at + line.speed * now)
            if nearing <= 0 or gap <= 0 or float(gap) > bound * float(nearing) * (1 + 1e-9):
                continue
            wait = gap / nearing
            if soonest is not None and wait >= soonest:
                continue
            along = (line.normal[1], -line.normal[0])
            here = dot(along, corner) + wait * dot(along, speed)
            low = dot(along, start) + wait * dot(along, start_speed)
            high = dot(along, end) + wait * dot(along, end_speed)
            if low <= here <= high:
                soonest, bound = wait, float(wait) * (1 + 1e-9)
    return None if soonest is None else now + soonest


def _advance(
    front: Sequence[Sequence[_Corner]],
    lines: Sequence[_Line],
    wait: Fraction,
    swept: dict[tuple[int, int], list[Segment]],
) -> list[list[_Corner]]:
    """The front `wait` higher; notes the outline of what each edge swept."""
    moved: list[list[_Corner]] = []
    for loop in front:
        corners = []
        for i, (edge, p) in enumerate(loop):
            v = _velocity(lines[loop[i - 1][0]], lines[edge])
            corners.append((edge, (p[0] + v[0] * wait, p[1] + v[1] * wait)))
        for i, (edge, p) in enumerate(loop):
            if lines[edge].speed:
                after = (i + 1) % len(loop)
                ring = (p, loop[after][1], corners[after][1], corners[i][1])
                swept.setdefault((edge, lines[edge].part), []).extend(
                    (ring[k - 1], ring[k], "swept") for k in range(4) if ring[k - 1] != ring[k]
                )
        moved.append(corners)
    return moved


def _sides(front: Sequence[Sequence[_Corner]]) -> Iterable[Segment]:
    for loop in front:
        for i, (edge, p) in enumerate(loop):
            end = loop[(i + 1) % len(loop)][1]
            if p != end:
                yield (p, end, edge)


def _faces(swept: dict[tuple[int, int], list[Segment]], planes: dict[tuple[int, int], Plane]) -> list[Face]:
    faces = []
    for edge, part in sorted(swept):
        loops = tuple(tuple(p for _, p in loop) for loop in untangle(swept[edge, part]))
        faces.append(Face(edge, part, loops, planes[edge, part]))
    return faces


def _check(faces: Sequence[Face], eaves: Sequence[Eave], footprint_twice: Fraction) -> None:
    """One simple face for each run of each eave, and together they tile the footprint exactly."""
    for face in faces:
        if face.eave is not None and len(face.loops) != 1:
            raise RoofUnsolved("one slope falls into several parts")
        if any(len(set(loop)) != len(loop) for loop in face.loops if face.eave is not None):
            raise RoofUnsolved("a slope touches itself")
    with_face = {face.eave for face in faces if face.part == 0}
    for index, eave in enumerate(eaves):
        if eave.runs[0][1] > 0 and index not in with_face:
            raise RoofUnsolved("a wall has no slope over it")
    covered = sum((area_twice(loop) for face in faces for loop in face.loops), Fraction(0))
    if covered != footprint_twice:
        raise RoofUnsolved("its slopes do not cover the footprint")
