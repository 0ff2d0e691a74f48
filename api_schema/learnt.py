"""What an account's outputs have learnt from its finished jobs, operation by operation."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, many, number, one, text, whole
from api_schema.outputs import OPERATIONS, OperationName, Output


@dataclass(frozen=True, slots=True)
class JobBehind:
    """One finished job that an output learnt from."""

    job: Annotated[str, text("The job.", example="job_4Zk0c7tQm2")]
    reference: Annotated[str, text("Its reference.", example="PX-014")]
    planned_h: Annotated[Decimal, number("Hours by the starting output.", example="4.1", unit="h")]
    recorded_h: Annotated[Decimal, number("Hours the crew wrote down.", example="4.6", unit="h")]


@dataclass(frozen=True, slots=True)
class LearntOutput:
    """One operation: what it started from, what the jobs say, and what the next plan counts with."""

    operation: Annotated[OperationName, choice("The operation.", OPERATIONS, example="tape_lap")]
    start: Annotated[Output, one(Output, "As it stands in the outputs, with where it comes from.")]
    now: Annotated[Output, one(Output, "As the next plan counts with it.")]
    jobs: Annotated[tuple[JobBehind, ...], many(JobBehind, "The finished jobs behind it, oldest first.")]
    weight: Annotated[
        Decimal,
        number("Weight of the own history, 0 to 1, where no job is held back.", example="0.25", unit="1"),
    ]
    own_ratio: Annotated[
        Decimal | None,
        number(
            "Recorded over planned hours, the geometric mean of the jobs; null without one.",
            example="1.12",
            unit="1",
        ),
    ]
    held_back: Annotated[
        int, whole("Jobs so far off that they pull no harder than the formula lets them.", example=0)
    ]
    factor: Annotated[
        Decimal, number("The starting minutes are multiplied by this.", example="1.029", unit="1")
    ]


@dataclass(frozen=True, slots=True)
class LearntOutputs:
    """All outputs as the next plan counts with them."""

    outputs: Annotated[tuple[LearntOutput, ...], many(LearntOutput, "Operation by operation.")]
    jobs: Annotated[int, whole("Finished jobs in the history.", example=3)]
    formula: Annotated[str, text("How a history moves an output.", example="mu = Z mean(x)", longest=1000)]
    source: Annotated[str, text("Where the formula comes from.", example="credibility, 1967", longest=1000)]
