"""What closes a storey at the top: pieces of plan, each with the plane of the ceiling or slope over it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from api_schema.building import Roof, Slope
from api_schema.problem import Fault, SurveyFaults
from workers.engine.building.covers import Cover
from workers.engine.building.measured_roofs import line_covers, mono_pitch_covers
from workers.engine.building.parts import Part, Wall
from workers.engine.building.planar import cross, minus
from workers.engine.building.wavefront import Eave, Face, RoofUnsolved, roof_over

Runs = tuple[tuple[Fraction, Fraction], ...]


def run_per_rise(
    pitch_deg: Decimal | None, rise: Decimal | None = None, run: Decimal | None = None
) -> Fraction | None:
    """Level distance per mm of rise: 1 / tan of the pitch to 18 digits, or exactly run over rise."""
    if pitch_deg is not None:
        return Fraction(1 / math.tan(math.radians(float(pitch_deg)))).limit_denominator(10**9)
    if rise is not None and run is not None:
        return Fraction(run) / Fraction(rise)
    return None


def covers_of(part: Part) -> tuple[Cover, ...]:
    """What is over a part.

    Raises:
        SurveyFaults: with every fault of its roof.
    """
    roof = part.storey.roof
    level = part.floor + part.storey.height_mm
    if roof is None or roof.form == "flat" or roof.layer == "joists":
        if part.storey.height_mm == 0:
            raise SurveyFaults(
                (Fault(f"{part.pointer}/height_mm", "is 0 under a level ceiling; give its height."),)
            )
        return (Cover("ceiling", "ceiling", part.loops, (Fraction(0), Fraction(0), level)),)
    if roof.lines:
        return tuple(line_covers(part, roof))
    faults = tuple(_roof_faults(part, roof))
    if faults:
        raise SurveyFaults(faults)
    if roof.form == "mono_pitch":
        return tuple(_mono_pitch(part, roof))
    eaves, walls = _eaves(part, roof)
    base = min(eave.runs[0][0] for eave in eaves)
    top = None if roof.collar_mm is None else part.floor + roof.collar_mm
    try:
        faces = roof_over(eaves, base, top)
    except RoofUnsolved as unsolved:
        raise SurveyFaults(
            (
                Fault(
                    f"{part.pointer}/roof",
                    f"we cannot find this roof from its pitches: {unsolved}. Give its ridge, hip and valley lines "
                    "in roof.lines, or describe it in parts.",
                ),
            )
        ) from None
    return tuple(_cover(face, eaves, walls) for face in faces)


def _mono_pitch(part: Part, roof: Roof) -> list[Cover]:
    low = next(wall for wall in part.walls if wall.name == roof.low_wall)
    own = next((slope for slope in roof.slopes if slope.wall == low.name), None)
    start, run = _runs(part, roof, gable=False, own=own)[-1]
    top = None if roof.collar_mm is None else part.floor + roof.collar_mm
    return mono_pitch_covers(part, low, run, start, top)


def _cover(face: Face, eaves: list[Eave], walls: list[tuple[str, ...]]) -> Cover:
    if face.eave is None:
        return Cover("ceiling", "ceiling", face.loops, face.plane)
    number = sum(1 for _, run in eaves[face.eave].runs[: face.part + 1] if run)
    names = walls[face.eave]
    name = f"{names[0]}-slope" if number == 1 else f"{names[0]}-slope-{number}"
    return Cover(name, "slope", face.loops, face.plane, names, number)


def _eaves(part: Part, roof: Roof) -> tuple[list[Eave], list[tuple[str, ...]]]:
    """The edges the roof rises from: walls in one line with one slope count as one."""
    gables = set(_gables(part, roof))
    own = {slope.wall: slope for slope in roof.slopes}
    groups: list[list[tuple[Wall, Runs]]] = []
    for ring in _rings(part):
        runs = [(wall, _runs(part, roof, wall.name in gables, own.get(wall.name))) for wall in ring]
        first = next((i for i in range(len(runs)) if not _one_eave(runs[i - 1], runs[i])), 0)
        turned = runs[first:] + runs[:first]
        groups.append([turned[0]])
        for before, this in itertools.pairwise(turned):
            if _one_eave(before, this):
                groups[-1].append(this)
            else:
                groups.append([this])
    eaves = [Eave(group[0][0].start, group[-1][0].end, group[0][1]) for group in groups]
    return eaves, [tuple(wall.name for wall, _ in group) for group in groups]


def _one_eave(before: tuple[Wall, Runs], this: tuple[Wall, Runs]) -> bool:
    one, other = before[0], this[0]
    turn = cross(minus(one.end, one.start), minus(other.end, other.start))
    return turn == 0 and before[1] == this[1]


def _rings(part: Part) -> Iterator[list[Wall]]:
    walls = iter(part.walls)
    for loop in part.loops:
        yield [next(walls) for _ in loop]


def _runs(part: Part, roof: Roof, gable: bool, own: Slope | None) -> Runs:
    """Heights above the building's zero, and the run per rise from there on."""
    level = part.floor + part.storey.height_mm
    upright = Fraction(0)
    run = run_per_rise(roof.pitch_deg, roof.rise, roof.run)
    if own is not None:
        run = run_per_rise(own.pitch_deg, own.rise, own.run) or run
    if run is None:
        raise ValueError("a slope without a pitch")  # refused before, by _roof_faults
    start = level if own is None or own.from_mm is None else part.floor + own.from_mm
    if gable:
        if roof.form == "half_hip" and roof.half_hip_mm is not None:
            return ((level, upright), (part.floor + roof.half_hip_mm, run))
        return ((level, upright),)
    runs: list[tuple[Fraction, Fraction]] = [(start, run)]
    upper = run_per_rise(roof.upper_pitch_deg)
    if roof.form != "mono_pitch" and roof.break_mm is not None and upper is not None:
        runs.append((part.floor + roof.break_mm, upper))
    lowest = min([level, *(part.floor + slope.from_mm for slope in roof.slopes if slope.from_mm is not None)])
    if start > lowest:
        runs.insert(0, (lowest, upright))
    return tuple(runs)


def _gables(part: Part, roof: Roof) -> tuple[str, ...]:
    names = [wall.name for wall in part.walls]
    sloped = {slope.wall for slope in roof.slopes}
    if roof.form == "hip":
        return roof.gables
    if roof.gables or len(names) != 4:
        return roof.gables
    pairs = sorted((part.walls[i].length_mm + part.walls[i + 2].length_mm, i) for i in (0, 1))
    return tuple(names[i] for i in (pairs[0][1], pairs[0][1] + 2) if names[i] not in sloped)


def _roof_faults(part: Part, roof: Roof) -> Iterator[Fault]:
    where = f"{part.pointer}/roof"
    names = [wall.name for wall in part.walls]
    said = f"this storey has {', '.join(names)}."
    for field, wall in (
        *((f"gables/{i}", wall) for i, wall in enumerate(roof.gables)),
        *((f"slopes/{i}/wall", slope.wall) for i, slope in enumerate(roof.slopes)),
        *((("low_wall", roof.low_wall),) if roof.low_wall is not None else ()),
    ):
        if wall not in names:
            yield Fault(f"{where}/{field}", f'there is no wall named "{wall}"; {said}')
    for i, slope in enumerate(roof.slopes):
        if slope.wall in roof.gables:
            yield Fault(
                f"{where}/slopes/{i}/wall", f"{slope.wall} is also named as a gable; it can be only one."
            )
        if (slope.rise is None) != (slope.run is None) or (
            slope.rise is not None and slope.pitch_deg is not None
        ):
            yield Fault(f"{where}/slopes/{i}", "give pitch_deg, or rise together with run.")
    if (roof.rise is None) != (roof.run is None) or (roof.pitch_deg is not None and roof.rise is not None):
        yield Fault(where, "give pitch_deg, or rise together with run.")
    elif roof.pitch_deg is None and roof.rise is None:
        yield Fault(f"{where}/pitch_deg", "is missing; give the pitch in degrees, or rise and run.")
    if roof.form == "mono_pitch" and roof.low_wall is None:
        yield Fault(f"{where}/low_wall", f"is missing; name the wall at the low side: {said}")
    if roof.form in ("gable", "half_hip", "gambrel") and not roof.gables and len(names) != 4:
        yield Fault(f"{where}/gables", f"is missing; name the walls that go up as gables: {said}")
    if roof.form == "gambrel" and (roof.break_mm is None or roof.upper_pitch_deg is None):
        yield Fault(where, "a gambrel needs break_mm, where the pitch changes, and upper_pitch_deg.")
    if roof.form == "half_hip" and roof.half_hip_mm is None:
        yield Fault(f"{where}/half_hip_mm", "is missing; give the height where the gables lean back.")
    yield from _height_faults(part, roof, where)


def _height_faults(part: Part, roof: Roof, where: str) -> Iterator[Fault]:
    height = part.storey.height_mm
    starts = [height, *(slope.from_mm for slope in roof.slopes if slope.from_mm is not None)]
    for field, value in (
        ("break_mm", roof.break_mm), ("half_hip_mm", roof.half_hip_mm), ("collar_mm", roof.collar_mm),
    ):  # fmt: skip
        if value is not None and value <= max(starts):
            yield Fault(
                f"{where}/{field}",
                f"is {value} mm above the floor; it must be above {max(starts)} mm, where the slopes start.",
            )
