"""Hours: operations, quantities and outputs with the conditions that change them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, many, number, table, text, whole
from api_schema.outputs import OPERATIONS, OperationName


@dataclass(frozen=True, slots=True)
class LabourLine:
    """The hours of one operation in one position."""

    operation: Annotated[OperationName, choice("The operation.", OPERATIONS, example="tape_lap")]
    position: Annotated[str, text("wall, slope, overhead, floor, or job.", example="wall", longest=40)]
    quantity: Annotated[Decimal, number("How much.", example="48.6", unit="quantity unit")]
    unit: Annotated[str, text("Counted by.", example="m", longest=20)]
    minutes_per_unit: Annotated[
        Decimal, number("Likely minutes per unit, before conditions.", example="1.8", unit="min")
    ]
    factors: Annotated[
        Mapping[str, Decimal],
        table(
            number("Factor.", example="1.3", unit="1"),
            "Conditions that apply and their factors.",
            example={"overhead": "1.3"},
        ),
    ]
    hours: Annotated[Decimal, number("Likely hours.", example="1.9", unit="h")]
    low_h: Annotated[Decimal, number("Hours when all goes well.", example="1.4", unit="h")]
    high_h: Annotated[Decimal, number("Hours on a bad day.", example="2.6", unit="h")]
    jobs_behind: Annotated[int, whole("Finished jobs behind the output.", example=0)] = 0


@dataclass(frozen=True, slots=True)
class Labour:
    """The hours of a job."""

    operations: Annotated[tuple[LabourLine, ...], many(LabourLine, "Line by line.")]
    likely_h: Annotated[Decimal, number("Hours to expect.", example="42.5", unit="h")]
    safe_h: Annotated[Decimal, number("Hours that suffice in 80 of 100 jobs.", example="46.0", unit="h")]
    crew_days: Annotated[Decimal, number("Days for the crew, by likely hours.", example="2.8", unit="d")]
    crew_size: Annotated[int, whole("People in the crew.", example=2)] = 2
    method: Annotated[
        str, text("How the safe hours were found.", example="normal sum of beta-PERT operations", longest=400)
    ] = ""
