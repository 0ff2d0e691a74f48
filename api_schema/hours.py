"""Recorded hours of a finished job, by operation, as the crew wrote them down."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, day, many, moment, number, text, whole
from api_schema.outputs import OPERATIONS, OperationName


@dataclass(frozen=True, slots=True)
class OperationHours:
    """The hours an operation took."""

    operation: Annotated[OperationName, choice("The operation.", OPERATIONS, example="tape_lap")]
    hours: Annotated[
        Decimal, number("Hours of one person, all added up.", example="2.5", unit="h", maximum="100000")
    ]
    quantity: Annotated[
        Decimal | None,
        number(
            "How much was done, in the operation's unit; the plan's quantity where not said.",
            example="48.6",
            unit="operation unit",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours worked on a job."""

    operations: Annotated[
        tuple[OperationHours, ...], many(OperationHours, "Operation by operation.", fewest=1, most=100)
    ]
    worked_on: Annotated[datetime.date | None, day("The day, where it was one day.")] = None
    crew_size: Annotated[int | None, whole("People who worked on it.", example=2, minimum=1, maximum=50)] = (
        None
    )
    note: Annotated[str, text("What was unusual.", example="scaffold came late", longest=1000)] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedHours(Hours):
    """Hours that were recorded."""

    id: Annotated[str, text("Public name of the record.", example="hrs_4Zk0c7tQm2")]
    job: Annotated[str, text("Public name of the job.", example="job_4Zk0c7tQm2")]
    created_at: Annotated[datetime.datetime, moment("When it was recorded.")]
