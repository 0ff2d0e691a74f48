"""Hours recorded on a finished job."""

from __future__ import annotations

from typing import Any

from api_schema.hours import Hours, RecordedHours
from service.api.editing import storable
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import whole_list
from service.records import hours as records
from service.records import tables

hours = Resource("hours", "Hours", "What a finished job really took, operation by operation.")


def _shown(row: tables.RecordedHours) -> dict[str, Any]:
    return {**row.body, "id": row.id, "job": row.job_id, "created_at": row.created_at.isoformat()}


@hours.operation(
    "POST",
    "/v1/jobs/{job}/hours",
    "Record hours",
    scope="write",
    takes=Hours,
    example={
        "operations": [{"operation": "tape_lap", "hours": "2.5", "quantity": "48.6"}],
        "worked_on": "2026-11-25",
        "crew_size": 2,
    },
    gives={201: RecordedHours},
    may_answer=(404,),
)
def record_hours(asked: Asked, job: str) -> Answer:
    """Stores the hours of a job as the crew wrote them down, added to what was recorded before.

    The next plan's outputs move toward what all your finished jobs took; each hours line of a plan says how many
    jobs stand behind it.
    """
    row = records.record_hours(asked.session, asked.caller.account_id, job, storable(asked.body))
    note(asked, "hours.recorded", job)
    return Answer(_shown(row), status=201)


@hours.operation(
    "GET",
    "/v1/jobs/{job}/hours",
    "List recorded hours",
    scope="read",
    gives={200: ListOf(RecordedHours)},
    may_answer=(404,),
)
def list_hours(asked: Asked, job: str) -> Answer:
    """Lists the hours recorded on a job, oldest first."""
    return whole_list(records.list_hours(asked.session, asked.caller.account_id, job), _shown)
