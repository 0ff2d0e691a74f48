"""What may leak: component values, the budget of a target over a job's details, and what tests have taught."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, many, number, one, text, whole
from api_schema.job import Target
from api_schema.measured import measured
from api_schema.provenance import PROVENANCE_KINDS, ProvenanceKind

LeakDetail = Literal[
    "membrane_face", "ceiling_corner", "other_corner", "slab_edge", "masonry_edge", "timber_edge", "frame_joint",
    "window", "door", "hatch", "collar", "taped_penetration", "section", "flue", "forgotten_penetration",
]  # fmt: skip
LEAK_DETAILS: tuple[LeakDetail, ...] = (
    "membrane_face", "ceiling_corner", "other_corner", "slab_edge", "masonry_edge", "timber_edge", "frame_joint",
    "window", "door", "hatch", "collar", "taped_penetration", "section", "flue", "forgotten_penetration",
)  # fmt: skip
LeakUnit = Literal["m2", "m", "piece"]


@dataclass(frozen=True, slots=True)
class LeakageValue:
    """Effective leakage area (4 Pa, discharge coefficient 1) of one unit of a detail."""

    detail: Annotated[LeakDetail, choice("The detail.", LEAK_DETAILS, example="slab_edge")]
    unit: Annotated[LeakUnit, choice("Counted by.", ("m2", "m", "piece"), example="m")]
    low_cm2: Annotated[
        float, measured("When all goes well.", example=0.075, unit="cm2", minimum="0", maximum="1000")
    ]
    likely_cm2: Annotated[float, measured("To expect.", example=0.8, unit="cm2", minimum="0", maximum="1000")]
    high_cm2: Annotated[float, measured("When it goes badly.", example=4.0, unit="cm2", minimum="0", maximum="1000")]  # fmt: skip
    provenance: Annotated[
        ProvenanceKind, choice("Where it comes from.", PROVENANCE_KINDS, example="published")
    ]
    note: Annotated[str, text("The source.", example="component library: tight 0.8", longest=400)] = ""


@dataclass(frozen=True, slots=True)
class LeakageValues:
    """An account's component values: published or recalled ones, times what its own tests have taught."""

    values: Annotated[tuple[LeakageValue, ...], many(LeakageValue, "One entry a detail.", most=100)]
    exponent: Annotated[
        float,
        measured("Flow exponent used to bring 4 Pa to 50 Pa.", example=0.65, unit="1", minimum="0.5", maximum="1"),
    ] = 0.65  # fmt: skip
    factor: Annotated[
        float,
        measured("All values are multiplied by this; 1 until tests have taught otherwise.",
                 example=0.62, unit="1", minimum="0.001", maximum="1000"),
    ] = 1.0  # fmt: skip
    tests_behind: Annotated[int, whole("Fan tests of this account behind the factor.", example=6)] = 0


@dataclass(frozen=True, slots=True)
class PredictedMeasured:
    """One finished job: the flow at 50 Pa its budget expected, and the flow its fan test found."""

    predicted_m3_h: Annotated[
        float,
        measured("Likely flow at 50 Pa of the budget.", example=310.0, unit="m3/h", minimum="0.001"),
    ]
    measured_m3_h: Annotated[
        float, measured("Flow at 50 Pa of the fan test.", example=205.0, unit="m3/h", minimum="0.001")
    ]
    factor: Annotated[
        float, measured("Factor in the values that budget used.", example=1.0, unit="1", minimum="0.001", maximum="1000")
    ] = 1.0  # fmt: skip


@dataclass(frozen=True, slots=True)
class LeakRange:
    """Low, likely and high."""

    low: Annotated[float, measured("When all goes well.", example=12.1, unit="as named")]
    likely: Annotated[float, measured("To expect.", example=38.3, unit="as named")]
    high: Annotated[float, measured("When it goes badly.", example=96.0, unit="as named")]


@dataclass(frozen=True, slots=True)
class LeakageLine:
    """One kind of detail of a job: how much of it there is, and what it may leak."""

    detail: Annotated[LeakDetail, choice("The detail.", LEAK_DETAILS, example="slab_edge")]
    words: Annotated[str, text("In words.", example="Edge on the slab", longest=100)]
    quantity: Annotated[Decimal, number("How much of it there is.", example="38.4", unit="quantity unit", plain=True)]  # fmt: skip
    unit: Annotated[LeakUnit, choice("Counted by.", ("m2", "m", "piece"), example="m")]
    area_cm2: Annotated[LeakRange, one(LeakRange, "Effective leakage area at 4 Pa, cm².")]
    flow_50_m3_h: Annotated[LeakRange, one(LeakRange, "Air flow at 50 Pa, m³/h.")]
    share_of_allowed: Annotated[
        float | None, measured("Likely flow by the allowed flow; null without a target.", example=0.31, unit="1")
    ] = None  # fmt: skip
    provenance: Annotated[
        ProvenanceKind, choice("Where the values come from.", PROVENANCE_KINDS, example="published")
    ] = "published"
    source: Annotated[str, text("The source.", example="component library: tight 0.8", longest=400)] = ""


@dataclass(frozen=True, slots=True)
class LeakagePlace:
    """One detail at one place: what to do with most care."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    detail: Annotated[LeakDetail, choice("The detail.", LEAK_DETAILS, example="slab_edge")]
    words: Annotated[str, text("In words.", example="Edge on the slab, living-north, 6.2 m", longest=300)]
    quantity: Annotated[Decimal, number("How much of it there is.", example="6.2", unit="quantity unit", plain=True)]  # fmt: skip
    unit: Annotated[LeakUnit, choice("Counted by.", ("m2", "m", "piece"), example="m")]
    flow_50_m3_h: Annotated[LeakRange, one(LeakRange, "Air flow at 50 Pa, m³/h.")]
    share_of_allowed: Annotated[
        float | None, measured("Likely flow by the allowed flow.", example=0.05, unit="1")
    ] = None


@dataclass(frozen=True, slots=True)
class LeakageBudget:
    """What a target allows, and where it may go."""

    lines: Annotated[tuple[LeakageLine, ...], many(LeakageLine, "By detail, the largest likely flow first.")]
    most_important: Annotated[
        tuple[LeakagePlace, ...], many(LeakagePlace, "The ten places with the most at stake: high less low.")
    ]  # fmt: skip
    flow_50_m3_h: Annotated[LeakRange, one(LeakRange, "All details together at 50 Pa, m³/h.")]
    forgotten_pipe_m3_h: Annotated[
        LeakRange, one(LeakRange, "What one pipe nobody sealed passes at 50 Pa, m³/h.")
    ]
    words: Annotated[str, text("In words.", example="0.6 per hour allows 247 m³/h at 50 Pa.", longest=1200)]
    target: Annotated[Target | None, one(Target, "The airtightness asked for.")] = None
    allowed_m3_h: Annotated[
        float | None, measured("Flow at 50 Pa that the target allows.", example=247.2, unit="m3/h")
    ] = None
    forgotten_pipe_share: Annotated[
        float | None, measured("Likely flow of one forgotten pipe by the allowed flow.", example=0.116, unit="1")
    ] = None  # fmt: skip
    factor: Annotated[float, measured("Factor learnt from this account's tests.", example=0.62, unit="1")] = (
        1.0
    )
    tests_behind: Annotated[int, whole("Fan tests behind it.", example=6)] = 0


@dataclass(frozen=True, slots=True)
class TargetPreset:
    """A target that rules or programmes ask for, to choose from."""

    name: Annotated[str, identifier("Its name.", example="passive-house")]
    words: Annotated[str, text("In words.", example="Passive House, new building", longest=160)]
    target: Annotated[Target, one(Target, "The airtightness asked for.")]
    provenance: Annotated[ProvenanceKind, choice("Where it comes from.", PROVENANCE_KINDS, example="memory")]
    note: Annotated[str, text("What to bear in mind.", example="check the edition in force", longest=300)] = (
        "Check the edition in force where you build."
    )
