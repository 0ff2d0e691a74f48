"""Which conditions hold where somebody works, and the factors they bring."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from api_schema.job import Job
from api_schema.outputs import Condition, OperationName
from api_schema.surface import Surface, SurfaceKind
from workers.engine.refusal import SettingRefused

POSITION_OF: dict[SurfaceKind, str] = {
    "wall": "wall",
    "slope": "slope",
    "ceiling": "overhead",
    "floor": "floor",
    "reveal": "reveal",
}
_BAND = re.compile(r"\A(over|under)_([0-9]+(?:\.[0-9]+)?)_(mm|m2)\Z")


@dataclass(frozen=True, slots=True)
class Place:
    """Where and how an operation is done. Empty position and no sizes for what is done to the whole job."""

    position: str
    stapler: str
    insulation: str
    height_mm: int | None = None
    piece_m2: Decimal | None = None


def working_height_mm(surface: Surface, job: Job) -> int | None:
    """Height of a surface's top above the standing floor, in mm; none where it cannot be told.

    As given, else a wall's, slope's or reveal's own height, else for a ceiling that of the highest wall in its
    room. A floor is worked on from itself.
    """
    if surface.working_height_mm is not None:
        return surface.working_height_mm
    if surface.kind == "floor":
        return 0
    if surface.kind == "ceiling":
        walls = [s for s in job.surfaces if s.kind == "wall" and s.room == surface.room]
        return max((working_height_mm(wall, job) or 0 for wall in walls), default=None)
    heights = [v for _, v in surface.outline_mm]
    return max(heights) - min(heights)


def factors(conditions: tuple[Condition, ...], operation: OperationName, place: Place) -> dict[str, Decimal]:
    """The factors that apply to an operation, by name of their condition, in the outputs' order.

    Of conditions on height the highest band reached applies, not every band below it; of piece sizes likewise
    the highest `over_` and the lowest `under_`.

    Raises:
        SettingRefused: if a band is not written like over_2500_mm or under_2_m2.
    """
    concerned = [one for one in conditions if not one.operations or operation in one.operations]
    held = [one for one in concerned if _holds(one, place)]
    banded: dict[tuple[str, str], Condition] = {}
    for one in held:
        if one.when in ("height", "piece_size"):
            side, limit = _band(one)
            best = banded.get((one.when, side))
            if best is None or (limit > _band(best)[1]) == (side == "over"):
                banded[(one.when, side)] = one
    return {
        one.name: one.factor
        for one in held
        if one.when not in ("height", "piece_size") or one in banded.values()
    }


def _holds(condition: Condition, place: Place) -> bool:
    if condition.when == "position":
        return condition.equals == place.position
    if condition.when == "stapler":
        return condition.equals == place.stapler
    if condition.when == "insulation":
        return condition.equals == place.insulation
    size = place.height_mm if condition.when == "height" else place.piece_m2
    side, limit = _band(condition)
    if size is None:
        return False
    return size > limit if side == "over" else size < limit


def _band(condition: Condition) -> tuple[str, Decimal]:
    unit = "mm" if condition.when == "height" else "m2"
    found = _BAND.match(condition.equals)
    if found is None or found[3] != unit:
        example = "over_2500_mm" if unit == "mm" else "over_10_m2 or under_2_m2"
        raise SettingRefused(
            "outputs",
            f'Condition {condition.name} on {condition.when} says "{condition.equals}"; write {example}.',
        )
    return found[1], Decimal(found[2])
