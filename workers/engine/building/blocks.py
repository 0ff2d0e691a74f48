"""What the solid is made of, and which wall an upright face of it belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from api_schema.building import Partition
from api_schema.problem import Fault, SurveyFaults
from api_schema.surface import Finish
from workers.engine.building.covers import Cover, Plane
from workers.engine.building.dormers import DormerCover, DormerSide
from workers.engine.building.parts import Part, Wall
from workers.engine.building.planar import Loop, Point, Tag, cross, minus, side

Corner = tuple[Fraction, Fraction, Fraction]
Kind = Literal["wall", "rim", "slope", "ceiling", "floor"]


@dataclass(frozen=True, slots=True)
class Patch:
    """What a face belongs to. Faces of one patch that meet become one surface."""

    kind: Kind
    part: int
    name: str
    finish: Finish | None  # what neighbours are sealed to where it is not lined; None where it is
    wall: Wall | None = None  # the wall an upright face lies in
    eave: Wall | None = None  # the wall a slope rises from


@dataclass(frozen=True, slots=True)
class Block:
    """What is solid over a cell between two planes."""

    part: int
    below: int | None  # the lower part, where the block is the floor between two
    bottom: Plane
    top: Plane
    cover: Patch | None
    floor: Patch | None
    partition: Partition | None
    dormer: int | None


@dataclass(frozen=True, slots=True)
class SolidFace:
    """A flat face, counter-clockwise seen from outside."""

    corners: tuple[Corner, ...]
    patch: Patch


@dataclass(frozen=True, slots=True)
class Solid:
    """The closed mesh and what was integrated over the plan, in mm."""

    faces: tuple[SolidFace, ...]
    rooms_mm3: Fraction
    floors_mm3: Fraction


@dataclass(frozen=True, slots=True)
class Layout:
    """A part with everything needed to build it."""

    part: Part
    covers: tuple[Cover, ...]
    dormers: tuple[DormerCover, ...]
    sides: tuple[DormerSide, ...]
    partitions: tuple[tuple[Partition, Loop], ...]
    slab: bool


def panel_patch(
    layouts: dict[int, Layout],
    block: Block,
    across: Iterable[Block],
    tags: Sequence[Tag],
    edge: tuple[Point, Point],
) -> Patch:
    """Which wall the upright face of `block` over a plan edge belongs to; `across` stands on the other side.

    Raises:
        SurveyFaults: where a dormer ends in the air because it runs past its slope.
    """
    marks = [tag for tag in tags if isinstance(tag, tuple)]
    if block.below is not None:
        return _rim_patch(layouts, block, block.below, marks)
    one = layouts[block.part]
    within = any(each.part == block.part and each.below is None for each in across)
    wall = None
    if not within:
        wall = next((one.part.walls[tag[2]] for tag in marks if tag[:2] == ("wall", block.part)), None)
    wall = wall or next((s.wall for s in one.sides if s.tag in marks and s.dormer == block.dormer), None)
    if wall is None and block.dormer is None:  # a gable that stands over the slope beside it
        wall = next((each for each in one.part.walls if _in_line(each, *edge)), None)
    if wall is None:
        raise _dormer_fault(one, block)
    finish: Finish | None = block.partition.finish if block.partition else None
    if wall.note and not wall.note.lined:
        finish = wall.note.finish
    return Patch("wall", block.part, wall.name, finish, wall)


def _rim_patch(
    layouts: dict[int, Layout], block: Block, below: int, marks: Sequence[tuple[object, ...]]
) -> Patch:
    """The edge of a floor between two storeys, named after the wall that stands on it or under it."""
    passes = layouts[block.part].part.storey.floor_zone == "passes"
    for number in (block.part, below):
        for index, wall in enumerate(layouts[number].part.walls):
            if ("wall", number, index) in marks:
                unlined = wall.note.finish if wall.note and not wall.note.lined else None
                finish = unlined or (None if passes else "timber")
                return Patch("rim", block.part, f"{wall.name}-rim", finish, wall)
    raise ValueError("the edge of a floor lies at no wall")


def _dormer_fault(one: Layout, block: Block) -> Exception:
    dormers = one.part.storey.dormers
    if not dormers:
        return ValueError("a roof has a step where no wall stands")
    number = block.dormer or 0
    return SurveyFaults(
        (
            Fault(
                f"{one.part.pointer}/dormers/{number}",
                f"{dormers[number].id} runs past the slope over {dormers[number].wall}: make it lower or narrower, "
                "or move it.",
            ),
        )
    )


def _in_line(wall: Wall, start: Point, end: Point) -> bool:
    same_way = cross(minus(wall.end, wall.start), minus(end, start)) == 0
    return same_way and side(wall.start, wall.end, start) == 0
