"""What the readings of a fan test mean: figures with 95 % intervals, the points, and the validity checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, many, one, text, truth, whole
from api_schema.measured import Estimate, measured
from api_schema.pressure_test import METHODS, TEST_DIRECTIONS, Method, TestDirection
from api_schema.provenance import PROVENANCE_KINDS, ProvenanceKind
from api_schema.said import Said

CheckLevel = Literal["met", "watch", "not_met", "not_checked"]
CHECK_LEVELS: tuple[CheckLevel, ...] = ("met", "watch", "not_met", "not_checked")
Finding = Literal["met", "not_met", "unclear"]


@dataclass(frozen=True, slots=True)
class TestPoint:
    """One reading after correction, and how far it lies from the fitted line."""

    __test__ = False  # the name starts with Test, yet it is no test case

    reading: Annotated[int, whole("Which reading, counted from 1 as sent.", example=1)]
    induced_pa: Annotated[float, measured("Induced pressure: reading less zero-flow, as a magnitude.", example=49.2, unit="Pa")]  # fmt: skip
    flow_m3_h: Annotated[float, measured("Flow through the envelope, corrected for temperature.", example=424.6, unit="m3/h")]  # fmt: skip
    line_m3_h: Annotated[float, measured("Flow of the fitted line there.", example=424.1, unit="m3/h")]
    residual_share: Annotated[float, measured("ln(flow) less ln(line): 0.01 is about one in a hundred over.", example=0.0012, unit="1")]  # fmt: skip
    outlier: Annotated[bool, truth("Does it stand apart from the other readings?", example=False)] = False


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of a test; null where the size they are divided by is not known."""

    flow_50_m3_h: Annotated[Estimate, one(Estimate, "Air flow at 50 Pa, m³/h.")]
    ela_4_cm2: Annotated[Estimate, one(Estimate, "Effective leakage area at 4 Pa, discharge coefficient 1, cm².")]  # fmt: skip
    ela_10_cm2: Annotated[Estimate, one(Estimate, "Effective leakage area at 10 Pa, discharge coefficient 1, cm².")]  # fmt: skip
    eqla_10_cm2: Annotated[Estimate, one(Estimate, "Equivalent leakage area at 10 Pa, discharge coefficient 0.611, cm².")]  # fmt: skip
    n50_per_h: Annotated[Estimate | None, one(Estimate, "Air changes at 50 Pa: flow by volume, 1/h.")] = None
    q50_m3_h_m2: Annotated[Estimate | None, one(Estimate, "Flow at 50 Pa by envelope area, m³/(h·m²).")] = None  # fmt: skip
    w50_m3_h_m2: Annotated[Estimate | None, one(Estimate, "Flow at 50 Pa by floor area, m³/(h·m²).")] = None


@dataclass(frozen=True, slots=True)
class DirectionResult:
    """The fit and the figures of one direction: flow = C · pressure ⁿ."""

    direction: Annotated[TestDirection, choice("Which way the fan blew.", TEST_DIRECTIONS)]
    zero_flow_pa: Annotated[float, measured("Mean zero-flow pressure taken off.", example=-1.0, unit="Pa")]
    n: Annotated[Estimate, one(Estimate, "Flow exponent.")]
    c_env_m3_h_pa_n: Annotated[Estimate, one(Estimate, "Flow coefficient of the corrected readings, m³/(h·Paⁿ).")]  # fmt: skip
    c_l_m3_h_pa_n: Annotated[Estimate, one(Estimate, "Flow coefficient at 20 °C and 101 325 Pa, m³/(h·Paⁿ).")]  # fmt: skip
    r_squared: Annotated[float, measured("Coefficient of determination of the fit used.", example=0.99994, unit="1")]  # fmt: skip
    r_squared_plain: Annotated[float, measured("The same for the unweighted log-log fit.", example=0.99994, unit="1")]  # fmt: skip
    degrees_of_freedom: Annotated[int, whole("Readings less 2.", example=8)]
    student_t: Annotated[float, measured("Two-sided 95 % Student t used.", example=2.306, unit="1")]
    figures: Annotated[Figures, one(Figures, "The figures of this direction.")]
    points: Annotated[tuple[TestPoint, ...], many(TestPoint, "The corrected readings as sent.")]
    c_standard_air_m3_h_pa_n: Annotated[
        float | None,
        measured(
            "C at 20 °C and 101 325 Pa with the air's viscosity counted too, which ISO 9972 leaves out; null with the flow-weighted method.",
            example=34.3,
            unit="m3/(h·Pa^n)",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class TestCheck:
    """One item of the validity screen."""

    __test__ = False

    code: Annotated[str, text("A stable word for programs.", example="highest_pressure", longest=40)]
    level: Annotated[
        CheckLevel,
        choice(
            "met; watch: look again; not_met: a condition of a valid test fails; not_checked: a value is missing.",
            CHECK_LEVELS,
        ),
    ]
    message: Annotated[str, text("In words.", example="The highest step is 61.1 Pa.", longest=900)]
    direction: Annotated[TestDirection | None, choice("The direction, null for the whole test.", TEST_DIRECTIONS)] = None  # fmt: skip
    reading: Annotated[int | None, whole("The reading, counted from 1 as sent.", example=7)] = None
    provenance: Annotated[
        ProvenanceKind, choice("Where the limit comes from.", PROVENANCE_KINDS, example="memory")
    ] = "memory"
    said: Annotated[Said | None, one(Said, "The words taken apart, for another language.")] = None


@dataclass(frozen=True, slots=True)
class TargetFinding:
    """The result beside the target."""

    measure: Annotated[
        Literal["n50_per_h", "q50_m3_h_m2"],
        choice("By volume or by envelope area.", ("n50_per_h", "q50_m3_h_m2")),
    ]
    target: Annotated[float, measured("The target.", example=0.6, unit="as named")]
    measured: Annotated[Estimate, one(Estimate, "What was measured.")]
    finding: Annotated[
        Finding,
        choice(
            "met or not_met where the whole interval lies on that side; unclear where the target lies within it.",
            ("met", "not_met", "unclear"),
        ),
    ]
    words: Annotated[str, text("In words.", example="0.54 per hour lies under the target.", longest=900)]
    said: Annotated[Said | None, one(Said, "The words taken apart, for another language.")] = None


@dataclass(frozen=True, slots=True)
class PressureTestResult:
    """What the readings mean."""

    reference: Annotated[str, text("The test's reference.", example="PT-007", longest=64)]
    method: Annotated[Method, choice("The method used.", METHODS)]
    method_words: Annotated[str, text("The method in words.", example="ISO 9972: plain log-log fit", longest=600)]  # fmt: skip
    directions: Annotated[tuple[DirectionResult, ...], many(DirectionResult, "Each direction.")]
    figures: Annotated[Figures, one(Figures, "The result: the mean of both directions, or the only one.")]
    is_mean: Annotated[bool, truth("Is it the mean of both directions?", example=True)]
    checks: Annotated[tuple[TestCheck, ...], many(TestCheck, "The validity screen.")]
    valid: Annotated[bool, truth("True where no condition of a valid test fails.", example=True)]
    interval_words: Annotated[str, text("What the interval covers.", example="95 %, scatter of the readings only", longest=600)]  # fmt: skip
    target: Annotated[TargetFinding | None, one(TargetFinding, "The result beside the target.")] = None
    method_said: Annotated[Said | None, one(Said, "The method's words taken apart, for another language.")] = None  # fmt: skip
    interval_said: Annotated[Said | None, one(Said, "The interval's words taken apart, for another language.")] = None  # fmt: skip
