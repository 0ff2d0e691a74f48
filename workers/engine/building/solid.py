"""The heated space as columns over plan cells, and the closed mesh round it.

The plan is cut along every wall, fold, dormer and partition. Over each cell stand blocks, one for each storey and
one for each floor between two storeys; where two neighbouring cells are not solid at the same height there is a
wall. Every corner is exact, so an edge of one face is an edge of its neighbour or it is not.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from api_schema.building import Partition
from api_schema.problem import Fault, SurveyFaults
from workers.engine.building.blocks import Block, Corner, Layout, Patch, Solid, SolidFace, panel_patch
from workers.engine.building.covers import Plane, height
from workers.engine.building.dormers import fold_lines, within_strip
from workers.engine.building.parts import Part, Wall
from workers.engine.building.planar import (
    Arrangement,
    Loop,
    Point,
    Segment,
    arrange,
    inside,
    minus,
    point_inside,
    side,
)

_THICKEST_FLOOR_MM = 1500  # two storeys further apart than this have a hollow between them, not a floor


def partition_strips(part: Part) -> tuple[tuple[Partition, Loop], ...]:
    """The plan of each internal wall that interrupts the layer, carried to the wall it ends on."""
    strips = []
    for partition in part.storey.partitions:
        if partition.layer != "interrupted":
            continue
        a = (Fraction(partition.from_mm[0]), Fraction(partition.from_mm[1]))
        b = (Fraction(partition.to_mm[0]), Fraction(partition.to_mm[1]))
        line = Wall(partition.id, a, b, None)
        half = Fraction(partition.thickness_mm, 2)
        ends = [half if any(_on(wall, p) for wall in part.walls) else Fraction(0) for p in (a, b)]
        low, high = -ends[1], line.length_mm + ends[0]
        strips.append(
            (partition, (line.at(high, -half), line.at(low, -half), line.at(low, half), line.at(high, half)))
        )
    return tuple(strips)


def _on(wall: Wall, p: Point) -> bool:
    along = minus(wall.end, wall.start)
    reach = minus(p, wall.start)
    inner = along[0] * reach[0] + along[1] * reach[1]
    return side(wall.start, wall.end, p) == 0 and 0 <= inner <= along[0] ** 2 + along[1] ** 2


def build_solid(layouts: Sequence[Layout], cuts: Sequence[Segment]) -> Solid:
    """The solid of all parts; `cuts` are further plan segments along which faces are parted.

    Raises:
        SurveyFaults: where parts overlap, or a dormer runs past its slope.
    """
    plan = arrange([*_segments(layouts), *cuts])
    stacks = [_stack(cell, layouts) for cell in plan.cells]
    stations = _stations(plan, stacks)
    faces = [
        *_level_faces(plan, stacks, stations),
        *_panels(plan, stacks, stations, layouts),
    ]
    rooms, floors = Fraction(0), Fraction(0)
    for cell, stack in zip(plan.cells, stacks, strict=True):
        area, first_x, first_y = _moments(cell)
        for block in stack:
            a, b, c = (high - low for high, low in zip(block.top, block.bottom, strict=True))
            volume = a * first_x + b * first_y + c * area
            if block.below is None:
                rooms += volume
            else:
                floors += volume
    return Solid(tuple(_with_levels(faces)), rooms, floors)


def _segments(layouts: Sequence[Layout]) -> Iterator[Segment]:
    for one in layouts:
        number = one.part.number
        for index, wall in enumerate(one.part.walls):
            yield (wall.start, wall.end, ("wall", number, index))
        for cover in one.covers:
            for loop in cover.loops:
                yield from _ring(loop, ("fold", number))
        yield from fold_lines(one.covers, list(one.dormers), one.part)
        for side_ in one.sides:
            yield (side_.wall.start, side_.wall.end, side_.tag)
        for _, strip in one.partitions:
            yield from _ring(strip, ("partition", number))


def _ring(loop: Loop, tag: tuple[str, int]) -> Iterator[Segment]:
    return ((loop[i - 1], loop[i], tag) for i in range(len(loop)) if loop[i - 1] != loop[i])


def _stack(cell: Loop, layouts: Sequence[Layout]) -> tuple[Block, ...]:
    """What stands over a cell, from below."""
    middle = point_inside(cell)
    blocks = [_block(one, middle) for one in layouts if inside(one.part.loops, middle)]
    blocks.sort(key=lambda block: (block.bottom[2], block.part))
    stack: list[Block] = []
    for block in blocks:
        if stack:
            below = stack[-1]
            floor = block.bottom[2]
            if any(height(below.top, p) > floor for p in cell):
                raise _overlap(layouts, block, below, middle)
            flat = below.top[0] == 0 and below.top[1] == 0
            if flat and 0 < floor - below.top[2] <= _THICKEST_FLOOR_MM:
                stack.append(Block(block.part, below.part, below.top, block.bottom, None, None, None, None))
        stack.append(block)
    return tuple(stack)


def _overlap(layouts: Sequence[Layout], upper: Block, lower: Block, near: Point) -> SurveyFaults:
    names = {one.part.number: one.part.storey.id for one in layouts}
    detail = (
        f"{names[upper.part]} reaches into {names[lower.part]} near [{float(near[0]):.0f}, {float(near[1]):.0f}]; "
        "check footprints, heights and floor_at_mm."
    )
    return SurveyFaults((Fault(f"/storeys/{upper.part}", detail),))


def _block(one: Layout, middle: Point) -> Block:
    part = one.part
    cover = next(cover for cover in one.covers if inside(cover.loops, middle))
    name, kind, plane = cover.name, cover.kind, cover.plane
    on: int | None = None
    eave = next((wall for wall in part.walls if wall.name in cover.walls[:1]), None)
    for dormer in one.dormers:
        carried = part.storey.dormers[dormer.dormer].wall in cover.walls
        if (
            carried
            and within_strip(dormer.strip, middle)
            and height(dormer.plane, middle) > height(plane, middle)
        ):
            flat = dormer.plane[0] == 0 and dormer.plane[1] == 0
            name, kind, plane, on, eave = (
                dormer.name,
                "ceiling" if flat else "slope",
                dormer.plane,
                dormer.dormer,
                None,
            )
    partition = next((wall for wall, strip in one.partitions if within_strip(strip, middle)), None)
    cut = partition.finish if partition else None
    return Block(
        part.number,
        None,
        (Fraction(0), Fraction(0), part.floor),
        plane,
        Patch(kind, part.number, name, cut, eave=eave),
        Patch("floor", part.number, "floor", "slab" if one.slab else cut),
        partition,
        on,
    )


def _stations(
    plan: Arrangement, stacks: Sequence[tuple[Block, ...]]
) -> dict[tuple[Point, Point], list[Point]]:
    """Points on plan edges at which the planes left and right of them cross."""
    stations: dict[tuple[Point, Point], list[Point]] = {}
    for a, b in plan.tags:
        left, right = _sides_of(plan, stacks, a, b)
        found = set()
        for one in _bounds(left):
            for other in _bounds(right):
                if one == other:
                    continue
                at_a, at_b = height(one, a) - height(other, a), height(one, b) - height(other, b)
                if (at_a > 0 > at_b) or (at_a < 0 < at_b):
                    found.add(at_a / (at_a - at_b))
        if found:
            stations[a, b] = [
                (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share) for share in sorted(found)
            ]
    return stations


def _sides_of(
    plan: Arrangement, stacks: Sequence[tuple[Block, ...]], a: Point, b: Point
) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    left, right = plan.left_of.get((a, b)), plan.left_of.get((b, a))
    return (() if left is None else stacks[left], () if right is None else stacks[right])


def _bounds(stack: Iterable[Block]) -> list[Plane]:
    return [plane for block in stack for plane in (block.bottom, block.top)]


def _level_faces(
    plan: Arrangement,
    stacks: Sequence[tuple[Block, ...]],
    stations: dict[tuple[Point, Point], list[Point]],
) -> Iterator[SolidFace]:
    """Floors, ceilings and slopes."""
    for cell, stack in zip(plan.cells, stacks, strict=True):
        if not stack:
            continue
        ring: list[Point] = []
        for i in range(len(cell)):
            a, b = cell[i - 1], cell[i]
            ring.append(a)
            ring += stations.get((a, b), []) if a < b else stations.get((b, a), [])[::-1]
        for i, block in enumerate(stack):
            if block.floor and not (i and _flush(stack[i - 1], block)):
                yield SolidFace(tuple((*p, height(block.bottom, p)) for p in reversed(ring)), block.floor)
            if block.cover and not (i + 1 < len(stack) and _flush(block, stack[i + 1])):
                yield SolidFace(tuple((*p, height(block.top, p)) for p in ring), block.cover)


def _flush(lower: Block, upper: Block) -> bool:
    return lower.top == upper.bottom


def _panels(
    plan: Arrangement,
    stacks: Sequence[tuple[Block, ...]],
    stations: dict[tuple[Point, Point], list[Point]],
    layouts: Sequence[Layout],
) -> Iterator[SolidFace]:
    """Upright faces, wherever one side of a plan edge is solid and the other is not."""
    by_part = {one.part.number: one for one in layouts}
    for a, b in plan.tags:
        left, right = _sides_of(plan, stacks, a, b)
        if left == right:
            continue
        points = [a, *stations.get((a, b), []), b]
        for p, q in itertools.pairwise(points):
            levels = sorted({(height(plane, p), height(plane, q)) for plane in _bounds((*left, *right))})
            for low, high in itertools.pairwise(levels):
                middle = (low[0] + low[1] + high[0] + high[1]) / 2
                here, there = _solid_at(left, p, q, middle), _solid_at(right, p, q, middle)
                if here is not None and there is None:
                    patch = panel_patch(by_part, here, right, plan.tags_of(a, b), (p, q))
                    yield _panel(p, q, low, high, patch)
                elif there is not None and here is None:
                    patch = panel_patch(by_part, there, left, plan.tags_of(a, b), (q, p))
                    yield _panel(q, p, low[::-1], high[::-1], patch)


def _panel(
    start: Point, end: Point, low: tuple[Fraction, ...], high: tuple[Fraction, ...], patch: Patch
) -> SolidFace:
    """An upright face with the solid left of start → end; a triangle where low and high meet."""
    ring = [(*start, low[0]), (*end, low[1]), (*end, high[1]), (*start, high[0])]
    return SolidFace(tuple(ring[i] for i in range(4) if ring[i] != ring[i - 1]), patch)


def _solid_at(stack: Iterable[Block], p: Point, q: Point, doubled: Fraction) -> Block | None:
    for block in stack:
        bottom = height(block.bottom, p) + height(block.bottom, q)
        if bottom < doubled < height(block.top, p) + height(block.top, q):
            return block
    return None


def _with_levels(faces: Sequence[SolidFace]) -> Iterator[SolidFace]:
    """The faces with every corner of a neighbour that lies on one of their upright edges put into it."""
    levels: dict[Point, set[Fraction]] = {}
    for face in faces:
        for x, y, z in face.corners:
            levels.setdefault((x, y), set()).add(z)
    ordered = {p: sorted(heights) for p, heights in levels.items()}
    for face in faces:
        corners: list[Corner] = []
        for i in range(len(face.corners)):
            a, b = face.corners[i - 1], face.corners[i]
            corners.append(a)
            if a[0] == b[0] and a[1] == b[1]:
                low, high = min(a[2], b[2]), max(a[2], b[2])
                between = [(a[0], a[1], z) for z in ordered[a[0], a[1]] if low < z < high]
                corners += between if a[2] < b[2] else between[::-1]
        yield SolidFace(tuple(corners), face.patch)


def _moments(loop: Loop) -> tuple[Fraction, Fraction, Fraction]:
    """Area and first moments of a polygon by Green's theorem."""
    area = first_x = first_y = Fraction(0)
    for i in range(len(loop)):
        (ax, ay), (bx, by) = loop[i - 1], loop[i]
        turn = ax * by - ay * bx
        area += turn
        first_x += (ax + bx) * turn
        first_y += (ay + by) * turn
    return area / 2, first_x / 6, first_y / 6
