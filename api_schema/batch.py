"""A batch: many jobs in one request, each judged alone."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Literal

from marshmallow import ValidationError, fields

from api_schema.fields import choice, list_of, moment, number, one, table, text, truth, whole
from api_schema.job import Job
from api_schema.problem import Fault, Problem, faults_in
from api_schema.shape import load
from api_schema.survey import find_faults, normalised

MOST_JOBS = 1000
ItemState = Literal["queued", "running", "ready", "failed", "cancelled", "refused"]
ITEM_STATES: tuple[ItemState, ...] = ("queued", "running", "ready", "failed", "cancelled", "refused")
_MOST_FAULTS = 50


@dataclass(frozen=True, slots=True)
class JudgedJob:
    """One job of a batch: the job, or what is wrong with it."""

    reference: str
    job: Job | None
    faults: tuple[Fault, ...]


class OneOfMany(fields.Field[JudgedJob]):
    """A job that is judged by itself: what is wrong with it fails no other."""

    def _deserialize(
        self,
        value: Any,
        attr: str | None,  # noqa: ARG002 - the signature is marshmallow's
        data: Mapping[str, Any] | None,  # noqa: ARG002
        **_: Any,
    ) -> JudgedJob:
        if not isinstance(value, dict):
            raise ValidationError("must be a job: an object in braces { }.")
        written = value.get("reference")
        reference = (
            "".join(letter for letter in written if letter.isprintable())[:64]
            if isinstance(written, str)
            else ""
        )
        try:
            job = load(Job, value)
        except ValidationError as error:
            return JudgedJob(reference, None, tuple(faults_in(error.messages))[:_MOST_FAULTS])
        faults = tuple(find_faults(job))
        if not faults and not job.plan:
            faults = (Fault("/plan", "must be true in a batch; leave it out."),)
        return JudgedJob(reference, None if faults else normalised(job), faults[:_MOST_FAULTS])


@dataclass(frozen=True, slots=True)
class BatchWish:
    """Many jobs to be planned."""

    jobs: Annotated[
        tuple[JudgedJob, ...],
        list_of(
            OneOfMany(
                metadata={
                    "description": "A job as in `POST /v1/jobs` (JobInput). It is judged alone: one that cannot be "
                    "planned is refused in its own item, with every fault, and the others go on.",
                    "example": {"reference": "PX-014"},
                }
            ),
            "The jobs, in the order their results shall stand.",
            fewest=1,
            most=MOST_JOBS,
        ),
    ]
    reference: Annotated[
        str, text("Your own reference of the batch.", example="November plots", longest=64)
    ] = ""


@dataclass(frozen=True, slots=True)
class BatchCounts:
    """Jobs of a batch by state."""

    queued: Annotated[int, whole("Waiting for a worker.", example=12)]
    running: Annotated[int, whole("Being planned.", example=2)]
    ready: Annotated[int, whole("Planned.", example=480)]
    failed: Annotated[int, whole("Could not be planned after all.", example=0)]
    cancelled: Annotated[int, whole("Cancelled.", example=0)]
    refused: Annotated[int, whole("Could not be taken as they were sent.", example=6)]


_LINKS = table(
    text("An address.", example="/v1/batches/bat_4Zk0c7tQm2", longest=400),
    "Where to go from here.",
    example={"self": "/v1/batches/bat_4Zk0c7tQm2"},
)


@dataclass(frozen=True, slots=True)
class StoredBatch:
    """A batch and how far it is."""

    id: Annotated[str, text("Public name of the batch.", example="bat_4Zk0c7tQm2")]
    reference: Annotated[str, text("Your own reference.", example="November plots")]
    total: Annotated[int, whole("How many jobs were sent.", example=500)]
    counts: Annotated[BatchCounts, one(BatchCounts, "Jobs by state.")]
    progress: Annotated[
        Decimal,
        number("Part of the jobs that have ended.", example="0.97", unit="1", maximum="1", plain=True),
    ]
    documents: Annotated[int, whole("Documents stored so far.", example=480)]
    final: Annotated[bool, truth("True once every job and its documents have ended.", example=False)]
    created_at: Annotated[datetime.datetime, moment("When it was sent.")]
    finished_at: Annotated[datetime.datetime | None, moment("When the last of it ended; null until then.")]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True)
class StoredBatchItem:
    """One job of a batch and how far it is."""

    position: Annotated[int, whole("Its place among the jobs sent, from 0.", example=17)]
    reference: Annotated[str, text("Its reference, where it had one.", example="PX-014")]
    status: Annotated[ItemState, choice("How far it is.", ITEM_STATES, example="ready")]
    job: Annotated[
        str | None, text("Public name of the job it became; null where refused.", example="job_4Zk0c7tQm2")
    ]
    problem: Annotated[
        Problem | None, one(Problem, "Why it was refused or failed; pointers lead into the job as sent.")
    ]
    links: Annotated[Mapping[str, str], _LINKS]
