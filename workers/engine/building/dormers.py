"""Dormers: strips of plan standing on a slope, each with its own roof planes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from api_schema.building import Dormer
from api_schema.problem import Fault
from workers.engine.building.covers import Cover, Plane, height
from workers.engine.building.parts import Part, Wall
from workers.engine.building.planar import Loop, Point, Segment, cross, minus
from workers.engine.building.roofs import run_per_rise


@dataclass(frozen=True, slots=True)
class DormerCover:
    """One roof plane of a dormer over its strip of plan; the dormer is where it lies above the slope."""

    dormer: int
    name: str
    strip: Loop  # counter-clockwise, reaching further back than the dormer can
    plane: Plane


@dataclass(frozen=True, slots=True)
class DormerSide:
    """A wall of a dormer: its front or a cheek, as a wall one can measure on."""

    dormer: int
    wall: Wall
    tag: tuple[str, int, int, str]


def dormer_covers(part: Part, covers: tuple[Cover, ...]) -> tuple[list[DormerCover], list[Fault]]:
    """The roof planes of a part's dormers, and what is wrong with them."""
    found: list[DormerCover] = []
    faults: list[Fault] = []
    walls = {wall.name: wall for wall in part.walls}
    for number, dormer in enumerate(part.storey.dormers):
        where = f"{part.pointer}/dormers/{number}"
        wall = walls.get(dormer.wall)
        slopes = [cover for cover in covers if dormer.wall in cover.walls]
        if wall is None or not slopes:
            known = sorted({name for cover in covers for name in cover.walls})
            said = (
                f"slopes rise from {', '.join(known)}."
                if known
                else "this storey has no slope lined at the rafters."
            )
            faults.append(Fault(f"{where}/wall", f"no slope rises from {dormer.wall}; {said}"))
        elif dormer.from_left_mm + dormer.width_mm > wall.length_mm:
            faults.append(
                Fault(
                    f"{where}/from_left_mm",
                    f"{dormer.id} ends {dormer.from_left_mm + dormer.width_mm} mm from the left, but {wall.name} "
                    f"is {float(wall.length_mm):.0f} mm long.",
                )
            )
        elif any(_overlap(dormer, other) for other in part.storey.dormers[:number]):
            faults.append(
                Fault(f"{where}/from_left_mm", f"{dormer.id} overlaps another dormer on {wall.name}.")
            )
        elif dormer.roof != "flat" and dormer.pitch_deg is None:
            faults.append(Fault(f"{where}/pitch_deg", "is missing; give the pitch of the dormer's roof."))
        else:
            planes = tuple(_planes(part, wall, dormer, number))
            front = wall.at(Fraction(dormer.from_left_mm), Fraction(dormer.set_back_mm))
            if all(height(cover.plane, front) >= height(planes[0].plane, front) for cover in slopes):
                faults.append(
                    Fault(
                        f"{where}/height_mm",
                        f"{dormer.id} does not rise above the slope at its front; check its height and set_back_mm.",
                    )
                )
            found.extend(planes)
    return found, faults


def _overlap(one: Dormer, other: Dormer) -> bool:
    return (
        one.wall == other.wall
        and one.from_left_mm < other.from_left_mm + other.width_mm
        and other.from_left_mm < one.from_left_mm + one.width_mm
    )


def _planes(part: Part, wall: Wall, dormer: Dormer, number: int) -> Iterator[DormerCover]:
    left, right = Fraction(dormer.from_left_mm), Fraction(dormer.from_left_mm + dormer.width_mm)
    front, back = Fraction(dormer.set_back_mm), _reach(part)
    ceiling = part.floor + dormer.height_mm
    run = run_per_rise(dormer.pitch_deg) or Fraction(1)
    if dormer.roof == "gable":
        middle = (left + right) / 2
        for name, a, b, slope in (("left", left, middle, 1 / run), ("right", middle, right, -1 / run)):
            low = left if name == "left" else right
            plane = _plane_through(wall.at(low, front), ceiling, wall.rightwards, slope)
            yield DormerCover(number, f"{dormer.id}-slope-{name}", _strip(wall, a, b, front, back), plane)
    else:
        rise = 1 / run if dormer.roof == "mono_pitch" else Fraction(0)
        plane = _plane_through(wall.at(left, front), ceiling, wall.inwards, rise)
        yield DormerCover(number, f"{dormer.id}-ceiling", _strip(wall, left, right, front, back), plane)


def _plane_through(p: Point, height: Fraction, along: Point, rise: Fraction) -> Plane:
    """The plane at `height` over p that rises by `rise` per mm along a direction of about unit length."""
    square = along[0] ** 2 + along[1] ** 2  # one but for `root`'s last digit
    a, b = along[0] * rise / square, along[1] * rise / square
    return (a, b, height - a * p[0] - b * p[1])


def _reach(part: Part) -> Fraction:
    corners = [p for loop in part.loops for p in loop]
    return sum(
        (max(p[axis] for p in corners) - min(p[axis] for p in corners) for axis in (0, 1)), Fraction(0)
    )


def _strip(wall: Wall, left: Fraction, right: Fraction, front: Fraction, back: Fraction) -> Loop:
    # Seen from above, with the room ahead of the wall, left of somebody facing the wall is right.
    return (wall.at(right, front), wall.at(left, front), wall.at(left, back), wall.at(right, back))


def dormer_sides(part: Part) -> list[DormerSide]:
    """The front and cheeks of every dormer, as walls."""
    walls = {wall.name: wall for wall in part.walls}
    sides = []
    for number, dormer in enumerate(part.storey.dormers):
        wall = walls.get(dormer.wall)
        if wall is None:
            continue
        left, right = Fraction(dormer.from_left_mm), Fraction(dormer.from_left_mm + dormer.width_mm)
        front, back = Fraction(dormer.set_back_mm), _reach(part)
        near_left, near_right = wall.at(left, front), wall.at(right, front)
        far_left, far_right = wall.at(left, back), wall.at(right, back)
        for name, start, end in (
            ("", near_right, near_left), ("-left", near_left, far_left), ("-right", far_right, near_right),
        ):  # fmt: skip
            tag = ("dormer", part.number, number, name)
            sides.append(DormerSide(number, Wall(dormer.id + name, start, end, None), tag))
    return sides


def fold_lines(covers: tuple[Cover, ...], dormers: list[DormerCover], part: Part) -> list[Segment]:
    """The plan segments along which dormers end against the slopes, and their ridges."""
    segments: list[Segment] = []
    for dormer in dormers:
        wall = part.storey.dormers[dormer.dormer].wall
        for cover in covers:
            if wall not in cover.walls:
                continue
            region = _above(dormer.strip, dormer.plane, cover.plane)
            tag = ("fold", part.number)
            segments += [
                (region[i - 1], region[i], tag) for i in range(len(region)) if region[i - 1] != region[i]
            ]
    return segments


def _above(strip: Loop, upper: Plane, lower: Plane) -> list[Point]:
    """The part of a convex strip where one plane is above another."""
    kept: list[Point] = []
    for i in range(len(strip)):
        a, b = strip[i - 1], strip[i]
        fa, fb = height(upper, a) - height(lower, a), height(upper, b) - height(lower, b)
        if (fa < 0) != (fb < 0):
            share = fa / (fa - fb)
            kept.append((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
        if fb >= 0:
            kept.append(b)
    return kept


def within_strip(strip: Loop, p: Point) -> bool:
    """Is p strictly inside a convex counter-clockwise strip?"""
    return all(cross(minus(strip[i], strip[i - 1]), minus(p, strip[i - 1])) > 0 for i in range(len(strip)))
