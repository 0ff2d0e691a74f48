"""Roofs whose planes need no search: one plane over everything, or faces between lines measured on site."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from api_schema.building import Roof, RoofLine
from api_schema.problem import Fault, SurveyFaults
from workers.engine.building.covers import Cover, Plane, height
from workers.engine.building.parts import Part, Wall
from workers.engine.building.planar import (
    Arrangement,
    Loop,
    Point,
    Segment,
    arrange,
    cross,
    exact,
    inside,
    minus,
    point_inside,
    side,
)

_FLAT_WITHIN_MM = 10  # as joined edges may differ in length; measured heights are never quite in one plane


def mono_pitch_covers(
    part: Part, low: Wall, run: Fraction, start: Fraction, top: Fraction | None
) -> list[Cover]:
    """One plane that rises from the low wall over the whole footprint, and a level ceiling where it reaches `top`.

    Raises:
        SurveyFaults: where some of the footprint lies below the low wall.
    """
    into = low.inwards
    square = into[0] ** 2 + into[1] ** 2  # one but for `root`'s last digit; with it the fold below is exact
    a, b = into[0] / run / square, into[1] / run / square
    plane: Plane = (a, b, start - a * low.start[0] - b * low.start[1])
    corners = [p for loop in part.loops for p in loop]
    if min(height(plane, p) for p in corners) < start:
        detail = f"{low.name} is not the lowest: parts of the footprint lie on its low side. Name the wall that does."
        raise SurveyFaults((Fault(f"{part.pointer}/roof/low_wall", detail),))
    if top is None or max(height(plane, p) for p in corners) <= top:
        return [Cover(f"{low.name}-slope", "slope", part.loops, plane, (low.name,), 1)]
    reach = sum((abs(p[0]) + abs(p[1]) for p in corners), Fraction(1))
    away = (top - start) * run
    line: Segment = (low.at(-reach, away), low.at(reach, away), "fold")
    segments = [(wall.start, wall.end, "wall") for wall in part.walls]
    covers = []
    for cell in arrange([*segments, line]).cells:
        middle = point_inside(cell)
        if not inside(part.loops, middle):
            continue
        if height(plane, middle) < top:
            covers.append(Cover(f"{low.name}-slope", "slope", (cell,), plane, (low.name,), 1))
        else:
            covers.append(Cover("ceiling", "ceiling", (cell,), (Fraction(0), Fraction(0), top)))
    return covers


def line_covers(part: Part, roof: Roof) -> list[Cover]:
    """The faces between measured ridge, hip and valley lines, each cut into triangles so that it closes exactly.

    Raises:
        SurveyFaults: where lines lead nowhere, cross between their ends, or a face between them is not flat.
    """
    where = f"{part.pointer}/roof/lines"
    level = part.floor + part.storey.height_mm
    heights = {p: level for loop in part.loops for p in loop}
    segments: list[Segment] = [(wall.start, wall.end, ("wall", i)) for i, wall in enumerate(part.walls)]
    faults: list[Fault] = []
    for number, line in enumerate(roof.lines):
        faults += _note_heights(
            heights, line, part, f"{where}/{number}", {p for loop in part.loops for p in loop}
        )
        segments.append((exact(line.from_mm), exact(line.to_mm), ("line", number)))
    plan = arrange(segments)
    faults += _loose_ends(plan, heights, len(roof.lines), where)
    if faults:
        raise SurveyFaults(tuple(faults))
    covers: list[Cover] = []
    used: dict[str, int] = {}
    for number, cell in enumerate(plan.cells):
        if not inside(part.loops, point_inside(cell)):
            continue
        _check_flat(cell, heights, where)
        if len({heights[p] for p in cell}) == 1:
            covers.append(Cover("ceiling", "ceiling", (cell,), (Fraction(0), Fraction(0), heights[cell[0]])))
            continue
        wall = _eave_of(plan, cell, heights, part)
        slope = 0
        name = f"slope-{number + 1}"
        if wall is not None:
            slope = used[wall] = used.get(wall, 0) + 1
            name = f"{wall}-slope" if slope == 1 else f"{wall}-slope-{slope}"
        for a, b, c in triangles(cell):
            plane = _plane((a, b, c), heights)
            covers.append(Cover(name, "slope", ((a, b, c),), plane, (wall,) if wall else (), slope))
    return covers


def _note_heights(
    heights: dict[Point, Fraction], line: RoofLine, part: Part, where: str, corners: set[Point]
) -> Iterator[Fault]:
    if line.from_mm == line.to_mm:
        yield Fault(where, "starts and ends at the same point.")
    for field, end, above in (
        ("from", line.from_mm, line.from_height_mm),
        ("to", line.to_mm, line.to_height_mm),
    ):
        p, z = exact(end), part.floor + above
        on_wall = any(side(wall.start, wall.end, p) == 0 for wall in part.walls)
        if not on_wall and not inside(part.loops, p):
            yield Fault(f"{where}/{field}_mm", f"[{end[0]}, {end[1]}] lies outside the footprint.")
        elif p in heights and heights[p] != z and p not in corners:
            said = float(heights[p] - part.floor)
            yield Fault(
                f"{where}/{field}_height_mm",
                f"is {above} mm, but another line gives {said:.0f} mm at [{end[0]}, {end[1]}]; lines that meet meet at one height.",
            )
        heights[p] = z


def _loose_ends(plan: Arrangement, heights: dict[Point, Fraction], count: int, where: str) -> Iterator[Fault]:
    kept = {
        tag[1] for tags in plan.tags.values() for tag in tags if isinstance(tag, tuple) and tag[0] == "line"
    }
    for number in range(count):
        if number not in kept:
            yield Fault(
                f"{where}/{number}",
                "leads nowhere: both its ends must lie on a wall or on another line's end.",
            )
    for p in {p: None for cell in plan.cells for p in cell}:
        if p not in heights:
            yield Fault(
                where,
                f"lines cross or meet at [{float(p[0]):.0f}, {float(p[1]):.0f}] between their ends; end them there, with its height.",
            )


def _check_flat(cell: Loop, heights: dict[Point, Fraction], where: str) -> None:
    """The largest triangle of the corners spans the face's plane; the rest must lie near it."""
    count = len(cell)
    trio = max(
        ((cell[i], cell[j], cell[k]) for i in range(count) for j in range(i) for k in range(j)),
        key=lambda t: abs(cross(minus(t[1], t[0]), minus(t[2], t[0]))),
    )
    plane = _plane(trio, heights)
    off = max(abs(height(plane, p) - heights[p]) for p in cell)
    if off > _FLAT_WITHIN_MM:
        x, y = point_inside(cell)
        raise SurveyFaults(
            (
                Fault(
                    where,
                    f"the face round [{float(x):.0f}, {float(y):.0f}] is {float(off):.0f} mm off flat; "
                    "check its heights, or add the line along which it folds.",
                ),
            )
        )


def _plane(trio: Sequence[Point], heights: dict[Point, Fraction]) -> Plane:
    p, q, r = trio
    d, e = minus(q, p), minus(r, p)
    turn = cross(d, e)
    dz, ez = heights[q] - heights[p], heights[r] - heights[p]
    a, b = (dz * e[1] - ez * d[1]) / turn, (ez * d[0] - dz * e[0]) / turn
    return (a, b, heights[p] - a * p[0] - b * p[1])


def _eave_of(plan: Arrangement, cell: Loop, heights: dict[Point, Fraction], part: Part) -> str | None:
    """The wall a face rises from: the one it meets lowest."""
    lowest: tuple[Fraction, int] | None = None
    for i in range(len(cell)):
        a, b = cell[i - 1], cell[i]
        for tag in plan.tags_of(a, b):
            if isinstance(tag, tuple) and tag[0] == "wall":
                found = (heights[a] + heights[b], int(tag[1]))
                lowest = found if lowest is None else min(lowest, found)
    return None if lowest is None else part.walls[lowest[1]].name


def triangles(loop: Loop) -> Iterator[tuple[Point, Point, Point]]:
    """Ears of a simple counter-clockwise polygon until nothing is left."""
    rest = list(loop)
    while len(rest) > 3:
        for i in range(len(rest)):
            a, b, c = rest[i - 1], rest[i], rest[(i + 1) % len(rest)]
            if side(a, b, c) <= 0:
                continue
            if any(_in_triangle(a, b, c, p) for p in rest if p not in (a, b, c)):
                continue
            yield (a, b, c)
            del rest[i]
            break
        else:
            raise ValueError("a face cannot be cut into triangles")
    if side(*rest) > 0:
        yield (rest[0], rest[1], rest[2])


def _in_triangle(a: Point, b: Point, c: Point, p: Point) -> bool:
    return side(a, b, p) >= 0 and side(b, c, p) >= 0 and side(c, a, p) >= 0
