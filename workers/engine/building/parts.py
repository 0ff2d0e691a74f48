"""The storeys of a building as exact plan geometry, with every fault of their footprints and names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from api_schema.building import Building, Storey, WallNote
from api_schema.problem import Fault
from api_schema.surface import Outline
from workers.engine.building.planar import Loop, Point, between, exact, minus, root, side

LONGEST_NAME = 64
_NAME_ROOM = 40  # a surface's name is the storey's and the wall's with a few letters more


@dataclass(frozen=True, slots=True)
class Wall:
    """One inside face of an outer wall; the room lies left of start → end."""

    name: str
    start: Point
    end: Point
    note: WallNote | None

    @property
    def left_end(self) -> Point:
        """Its left end as seen from inside, facing it."""
        return self.end

    @property
    def rightwards(self) -> Point:
        """One millimetre to the right as seen from inside."""
        along = minus(self.start, self.end)
        length = root(along[0] ** 2 + along[1] ** 2)
        return (along[0] / length, along[1] / length)

    @property
    def inwards(self) -> Point:
        """One millimetre away from it into the room."""
        right = self.rightwards
        return (right[1], -right[0])

    @property
    def length_mm(self) -> Fraction:
        """Its length."""
        along = minus(self.start, self.end)
        return root(along[0] ** 2 + along[1] ** 2)

    def at(self, from_left: Fraction, away: Fraction) -> Point:
        """The plan point that far from its left end and that far into the room."""
        right, into = self.rightwards, self.inwards
        origin = self.left_end
        return (
            origin[0] + right[0] * from_left + into[0] * away,
            origin[1] + right[1] * from_left + into[1] * away,
        )


@dataclass(frozen=True, slots=True)
class Part:
    """A storey, or a part of one, with its floor level and its walls counter-clockwise."""

    number: int
    storey: Storey
    floor: Fraction
    walls: tuple[Wall, ...]
    loops: tuple[Loop, ...]  # footprint counter-clockwise, courtyards clockwise

    @property
    def pointer(self) -> str:
        """Where it stands in the building."""
        return f"/storeys/{self.number}"


def parts_of(building: Building) -> tuple[tuple[Part, ...], tuple[Fault, ...]]:
    """The parts of a building, and every fault found in their footprints and names."""
    faults: list[Fault] = []
    notes = {(note.storey, note.wall): note for note in building.walls}
    parts: list[Part] = []
    level = Fraction(0)
    for number, storey in enumerate(building.storeys):
        pointer = f"/storeys/{number}"
        if storey.floor_at_mm is not None:
            level = Fraction(storey.floor_at_mm)
        elif number:
            level += storey.floor_zone_mm
        found = tuple(_storey_faults(storey, pointer))
        faults.extend(found)
        if not found:
            walls = tuple(_walls(storey, notes))
            loops = tuple(_loops(walls))
            parts.append(Part(number, storey, level, walls, loops))
        level += storey.height_mm
    faults.extend(_name_faults(building))
    known = {(part.storey.id, wall.name) for part in parts for wall in part.walls}
    if len(parts) == len(building.storeys):
        for number, note in enumerate(building.walls):
            if (note.storey, note.wall) not in known:
                faults.append(
                    Fault(
                        f"/walls/{number}",
                        f"{note.storey} has no wall named {note.wall}; {_walls_said(parts, note.storey)}",
                    )
                )
    return tuple(parts), tuple(faults)


def _walls_said(parts: Iterable[Part], storey: str) -> str:
    names = [wall.name for part in parts if part.storey.id == storey for wall in part.walls]
    return f"it has {', '.join(names)}." if names else "there is no such storey."


def _storey_faults(storey: Storey, pointer: str) -> Iterator[Fault]:
    fault = outline_fault(storey.footprint_mm)
    if fault:
        yield Fault(f"{pointer}/footprint_mm", fault)
    for index, court in enumerate(storey.courtyards_mm):
        where = f"{pointer}/courtyards_mm/{index}"
        fault = outline_fault(court)
        if fault:
            yield Fault(where, fault)
        elif not _lies_within(court, storey.footprint_mm):
            yield Fault(where, "must lie wholly inside the footprint, clear of its walls.")
        elif any(not _apart(court, other) for other in storey.courtyards_mm[:index]):
            yield Fault(where, "must lie clear of the other courtyards.")
    if storey.wall_names and len(storey.wall_names) != len(storey.footprint_mm):
        yield Fault(
            f"{pointer}/wall_names",
            f"has {len(storey.wall_names)} names for {len(storey.footprint_mm)} walls; name each wall once, in order.",
        )
    names = [*_names(storey), *(dormer.id for dormer in storey.dormers)]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Fault(f"{pointer}/wall_names", f'"{name}" names two walls or dormers; each needs its own name.')
    if any(len(f"{storey.id}-{name}") > _NAME_ROOM for name in names):
        yield Fault(
            f"{pointer}/id",
            f"its name and a wall's together are longer than {_NAME_ROOM} characters; use shorter names.",
        )


def _name_faults(building: Building) -> Iterator[Fault]:
    seen: set[str] = set()
    for number, storey in enumerate(building.storeys):
        if storey.id in seen:
            yield Fault(
                f"/storeys/{number}/id",
                f'"{storey.id}" is used twice; each storey or part needs its own name.',
            )
        seen.add(storey.id)
    noted: set[tuple[str, str]] = set()
    for number, note in enumerate(building.walls):
        if (note.storey, note.wall) in noted:
            yield Fault(f"/walls/{number}", f"{note.wall} of {note.storey} is noted twice; keep one.")
        noted.add((note.storey, note.wall))


def outline_fault(outline: Outline) -> str | None:
    """What keeps whole-millimetre corners from being a simple polygon, in words; None where they are one."""
    corners = [exact(corner) for corner in outline]
    count = len(corners)
    for i in range(count):
        if corners[i] == corners[i - 1]:
            return f"has the corner {list(outline[i])} twice in a row; leave one out."
    for i in range(count):
        a, b = corners[i], corners[(i + 1) % count]
        for j in range(i + 1, count):
            c, d = corners[j], corners[(j + 1) % count]
            beside = {i, (i + 1) % count} & {j, (j + 1) % count}
            if len(beside) == 2 or (len(beside) == 1 and _folds_back(corners, beside.pop())):
                return f"runs back on itself at {list(outline[j])}; list the corners in order."
            if not {i, (i + 1) % count} & {j, (j + 1) % count} and _touch(a, b, c, d):
                return (
                    f"crosses or touches itself: wall {i + 1} from {list(outline[i])} meets wall {j + 1} from "
                    f"{list(outline[j])}; list the corners in order, going round once."
                )
    return None


def _folds_back(corners: list[Point], at: int) -> bool:
    before, here, after = corners[at - 1], corners[at], corners[(at + 1) % len(corners)]
    return side(before, here, after) == 0 and not between(before, after, here)


def _touch(a: Point, b: Point, c: Point, d: Point) -> bool:
    abc, abd, cda, cdb = side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
    if abc * abd < 0 and cda * cdb < 0:
        return True
    return any(
        turn == 0 and (p in (s, e) or between(s, e, p))
        for turn, s, e, p in ((abc, a, b, c), (abd, a, b, d), (cda, c, d, a), (cdb, c, d, b))
    )


def _apart(one: Outline, other: Outline) -> bool:
    """Neither touching nor one within the other."""
    return not _edges_touch(one, other) and not _holds(other, one) and not _holds(one, other)


def _lies_within(inner: Outline, outer: Outline) -> bool:
    return not _edges_touch(inner, outer) and _holds(outer, inner)


def _edges_touch(one: Outline, other: Outline) -> bool:
    p, q = [exact(corner) for corner in one], [exact(corner) for corner in other]
    return any(_touch(p[i - 1], p[i], q[j - 1], q[j]) for i in range(len(p)) for j in range(len(q)))


def _holds(outer: Outline, inner: Outline) -> bool:
    """Is the first corner of `inner` inside `outer`? Their edges do not touch."""
    x, y = inner[0]
    odd = False
    for i in range(len(outer)):
        (ax, ay), (bx, by) = outer[i - 1], outer[i]
        if (ay > y) != (by > y) and (x - ax) * (by - ay) * (1 if by > ay else -1) < (bx - ax) * (y - ay) * (
            1 if by > ay else -1
        ):
            odd = not odd
    return odd


def _names(storey: Storey) -> list[str]:
    names = list(storey.wall_names) or [f"wall-{i + 1}" for i in range(len(storey.footprint_mm))]
    for number, court in enumerate(storey.courtyards_mm, start=1):
        names += [f"court-{number}-wall-{i + 1}" for i in range(len(court))]
    return names


def _walls(storey: Storey, notes: dict[tuple[str, str], WallNote]) -> Iterator[Wall]:
    names = iter(_names(storey))
    for number, outline in enumerate((storey.footprint_mm, *storey.courtyards_mm)):
        corners = [exact(corner) for corner in outline]
        ring = [
            Wall(name, corners[i], corners[(i + 1) % len(corners)], notes.get((storey.id, name)))
            for i, name in zip(range(len(corners)), names, strict=False)
        ]
        if (_doubled(outline) < 0) != (
            number > 0
        ):  # the footprint runs counter-clockwise, courtyards clockwise
            ring = [Wall(wall.name, wall.end, wall.start, wall.note) for wall in reversed(ring)]
        yield from ring


def _doubled(outline: Outline) -> int:
    return sum(
        outline[i - 1][0] * outline[i][1] - outline[i][0] * outline[i - 1][1] for i in range(len(outline))
    )


def _loops(walls: Iterable[Wall]) -> Iterator[Loop]:
    loop: list[Point] = []
    for wall in walls:
        if loop and wall.end == loop[0]:
            yield (*loop, wall.start)
            loop = []
        else:
            loop.append(wall.start)


def plain_name(name: str) -> str:
    """A name that may stand in an address, cut to the longest one allowed."""
    return re.sub(r"[^A-Za-z0-9._-]", "-", name)[:LONGEST_NAME]
