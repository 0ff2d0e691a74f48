"""A fan pressurisation test as it was read off on site: what goes in. What comes out is in `pressure_result`."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Annotated, Literal

from api_schema.fields import choice, day, identifier, list_of, many, one, point, text, truth
from api_schema.job import Target
from api_schema.measured import measured
from api_schema.problem import Fault

Method = Literal["iso_9972", "flow_weighted"]
METHODS: tuple[Method, ...] = ("iso_9972", "flow_weighted")
TestDirection = Literal["depressurisation", "pressurisation"]
TEST_DIRECTIONS: tuple[TestDirection, ...] = ("depressurisation", "pressurisation")
OpeningState = Literal["sealed", "closed", "open", "filled", "off", "as_found"]
OPENING_STATES: tuple[OpeningState, ...] = ("sealed", "closed", "open", "filled", "off", "as_found")
Preparation = Literal["building_in_use", "building_envelope", "specific_purpose"]
PREPARATIONS: tuple[Preparation, ...] = ("building_in_use", "building_envelope", "specific_purpose")
FEWEST_READINGS = 3  # a line through two points has no interval
MOST_READINGS = 100
_LEAST_INDUCED_PA = 0.5


@dataclass(frozen=True, slots=True)
class Reading:
    """One step of the test: the pressure across the envelope and the flow through the fan."""

    pressure_pa: Annotated[
        float,
        measured(
            "Inside less outside, as read (zero-flow not taken off): below zero in depressurisation.",
            example=-50.2, unit="Pa", minimum="-500", maximum="500",
        ),
    ]  # fmt: skip
    flow_m3_h: Annotated[
        float,
        measured(
            "Air flow through the fan as read, at the air's own temperature there.",
            example=449.0, unit="m3/h", minimum="0.001", maximum="10000000",
        ),
    ]  # fmt: skip


_zero_flow = measured(
    "A reading with the fan sealed, inside less outside.",
    example=-1.2, unit="Pa", minimum="-100", maximum="100",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class DirectionReadings:
    """All readings with the fan blowing one way."""

    direction: Annotated[
        TestDirection,
        choice("Depressurisation: the fan blows out. Pressurisation: it blows in.", TEST_DIRECTIONS),
    ]
    readings: Annotated[
        tuple[Reading, ...],
        many(Reading, "The steps, in any order.", fewest=FEWEST_READINGS, most=MOST_READINGS),
    ]
    zero_flow_before_pa: Annotated[
        tuple[float, ...], list_of(_zero_flow, "Before the steps: one mean or several readings.", fewest=1, most=200)
    ]  # fmt: skip
    indoor_c: Annotated[
        float, measured("Air temperature inside.", example=21.0, unit="°C", minimum="-60", maximum="60")
    ]
    outdoor_c: Annotated[
        float, measured("Air temperature outside.", example=5.0, unit="°C", minimum="-60", maximum="60")
    ]
    zero_flow_after_pa: Annotated[
        tuple[float, ...], list_of(_zero_flow, "After the steps: one mean or several readings.", most=200)
    ] = ()


@dataclass(frozen=True, slots=True)
class BuildingSize:
    """The sizes the flow is divided by, internal dimensions; what is missing is not derived."""

    volume_m3: Annotated[
        float | None,
        measured("Internal volume; the job's where a job is named and this is not given.",
                 example=412.0, unit="m3", minimum="0.1", maximum="10000000"),
    ] = None  # fmt: skip
    envelope_area_m2: Annotated[
        float | None,
        measured("Area of walls, floor and roof around that volume, internal dimensions.",
                 example=386.0, unit="m2", minimum="0.1", maximum="10000000"),
    ] = None  # fmt: skip
    floor_area_m2: Annotated[
        float | None,
        measured("Net floor area.", example=164.0, unit="m2", minimum="0.1", maximum="10000000"),
    ] = None
    height_m: Annotated[
        float | None,
        measured("Height of the tested volume, for the warm-air check.",
                 example=6.4, unit="m", minimum="0.5", maximum="500"),
    ] = None  # fmt: skip


@dataclass(frozen=True, slots=True)
class OpeningDone:
    """What was done with one opening for the test."""

    what: Annotated[str, text("The opening.", example="kitchen extract hood", shortest=1, longest=160)]
    state: Annotated[OpeningState, choice("What was done with it.", OPENING_STATES)]
    note: Annotated[str, text("How, or why.", example="film and tape outside", longest=300)] = ""


@dataclass(frozen=True, slots=True)
class PreparationStep:
    """One step of preparing the building, done or not."""

    step: Annotated[str, text("The step.", example="Inner doors open", shortest=1, longest=200)]
    done: Annotated[bool, truth("Was it done?", example=True)]
    note: Annotated[str, text("A word on it.", example="bathroom door missing", longest=300)] = ""


@dataclass(frozen=True, slots=True)
class LeakNote:
    """A leak found while hunting with the fan running: where, what, and whether it was sealed."""

    surface: Annotated[str, identifier("The surface of the job.", example="living-north")]
    what: Annotated[
        str, text("What was found.", example="air at the tape end under the pipe", shortest=1, longest=400)
    ]
    detail: Annotated[
        str, text("The opening, penetration or lap there, by its name.", example="p1", longest=100)
    ] = ""
    at_mm: Annotated[tuple[int, int] | None, point("Where on the surface.", example=[5200, 300])] = None
    found_by: Annotated[
        Literal["hand", "smoke", "camera", "anemometer", "sound"],
        choice("How it was found.", ("hand", "smoke", "camera", "anemometer", "sound"), example="smoke"),
    ] = "hand"
    strength: Annotated[
        Literal["slight", "clear", "strong"], choice("How strong.", ("slight", "clear", "strong"))
    ] = "clear"
    sealed: Annotated[bool, truth("Has it been sealed since?", example=False)] = False
    note: Annotated[
        str, text("What was done or is to be done.", example="re-tape, press down", longest=400)
    ] = ""


@dataclass(frozen=True, slots=True)
class PressureTestInput:
    """A fan test: readings of one or both directions and what is needed to judge them."""

    reference: Annotated[str, text("Your own reference.", example="PT-007", shortest=1, longest=64)]
    directions: Annotated[
        tuple[DirectionReadings, ...], many(DirectionReadings, "One or both directions.", fewest=1, most=2)
    ]
    method: Annotated[
        Method,
        choice(
            "iso_9972: plain log-log fit after ISO 9972; flow_weighted: the fit weighted by flow squared, as in the Canadian energy audits.",
            METHODS,
        ),
    ] = "iso_9972"
    building: Annotated[BuildingSize, one(BuildingSize, "Sizes of the building.")] = field(
        default_factory=BuildingSize
    )
    target: Annotated[Target | None, one(Target, "The airtightness asked for; the job's if not given.")] = (
        None
    )
    barometer_pa: Annotated[
        float | None,
        measured("Air pressure of the day at the site; 101 325 Pa is taken if not given.",
                 example=100_900.0, unit="Pa", minimum="50000", maximum="110000"),
    ] = None  # fmt: skip
    wind_m_s: Annotated[
        float | None, measured("Wind in the open.", example=2.5, unit="m/s", minimum="0", maximum="80")
    ] = None
    job: Annotated[str | None, identifier("The job it belongs to.", example="job_3f9c")] = None
    tested_on: Annotated[datetime.date | None, day("Day of the test.")] = None
    tester: Annotated[str, text("Who tested.", example="A. Example", longest=120)] = ""
    instruments: Annotated[
        str, text("Fan and gauge with their calibration dates.", example="fan 1, calibrated 2026-03-02", longest=400)
    ] = ""  # fmt: skip
    preparation: Annotated[
        Preparation,
        choice(
            "How openings were treated: building in use (closed), building envelope (purpose-made openings sealed), or a specific purpose.",
            PREPARATIONS,
            example="building_envelope",
        ),
    ] = "building_envelope"
    openings: Annotated[
        tuple[OpeningDone, ...], many(OpeningDone, "What was and was not sealed.", most=500)
    ] = ()
    steps: Annotated[
        tuple[PreparationStep, ...], many(PreparationStep, "Preparing the building.", most=200)
    ] = ()
    leaks: Annotated[tuple[LeakNote, ...], many(LeakNote, "Leaks found.", most=1000)] = ()
    notes: Annotated[
        str, text("Anything else.", example="Rear door not yet hung; boarded.", longest=2000)
    ] = ""


def zero_flow_of(readings: DirectionReadings) -> float:
    """Mean zero-flow pressure in Pa: the mean of the mean before and the mean after, where there is one after."""
    before = sum(readings.zero_flow_before_pa) / len(readings.zero_flow_before_pa)
    if not readings.zero_flow_after_pa:
        return before
    return (before + sum(readings.zero_flow_after_pa) / len(readings.zero_flow_after_pa)) / 2


def faults_in_test(test: PressureTestInput) -> tuple[Fault, ...]:
    """Everything about a test that makes its analysis impossible, found all at once.

    What is merely doubtful (few steps, wind, a stray reading) is no fault: the analysis lists it in its checks.
    """
    found: list[Fault] = []
    ways = [readings.direction for readings in test.directions]
    if not ways:
        found.append(Fault("/directions", "has no readings; give one or both directions."))
    if len(set(ways)) != len(ways):
        found.append(
            Fault(
                "/directions/1/direction",
                f"is {ways[1]} again; send each direction once, all its readings together.",
            )
        )
    for place, readings in enumerate(test.directions):
        found.extend(_reading_faults(readings, f"/directions/{place}"))
    found.extend(_target_faults(test))
    return tuple(found)


def _reading_faults(readings: DirectionReadings, pointer: str) -> list[Fault]:
    found: list[Fault] = []
    if len(readings.readings) < FEWEST_READINGS:
        found.append(
            Fault(f"{pointer}/readings", f"has {len(readings.readings)} readings; at least {FEWEST_READINGS} are needed, 5 or more for a valid test.")
        )  # fmt: skip
    if not readings.zero_flow_before_pa:
        found.append(
            Fault(f"{pointer}/zero_flow_before_pa", "is empty; read the pressure with the fan sealed before the first step.")
        )  # fmt: skip
        return found
    zero = zero_flow_of(readings)
    induced = [abs(reading.pressure_pa - zero) for reading in readings.readings]
    for step, (reading, pressure) in enumerate(zip(readings.readings, induced, strict=True)):
        if pressure < _LEAST_INDUCED_PA:
            found.append(
                Fault(
                    f"{pointer}/readings/{step}/pressure_pa",
                    f"is {reading.pressure_pa:g} Pa, no more than the zero-flow pressure of {zero:.1f} Pa: the fan did nothing there. Leave the step out or correct it.",
                )
            )
        if not reading.flow_m3_h > 0:
            found.append(Fault(f"{pointer}/readings/{step}/flow_m3_h", "must be more than 0 m³/h."))
    if len(induced) >= FEWEST_READINGS and min(induced) > 0 and max(induced) / min(induced) < 1.2:
        found.append(
            Fault(
                f"{pointer}/readings",
                f"all lie between {min(induced):.1f} and {max(induced):.1f} Pa; a line needs steps spread out, from about 10 to 50 Pa or more.",
            )
        )
    return found


def _target_faults(test: PressureTestInput) -> list[Fault]:
    found: list[Fault] = []
    if test.target is None or test.job is not None:  # a job brings its own sizes
        return found
    if test.target.n50_per_h is not None and test.building.volume_m3 is None:
        found.append(
            Fault("/building/volume_m3", "is missing; a target by air changes needs the internal volume.")
        )
    if test.target.q50_m3_h_m2 is not None and test.building.envelope_area_m2 is None:
        found.append(
            Fault("/building/envelope_area_m2", "is missing; a target by envelope area needs that area.")
        )
    return found
