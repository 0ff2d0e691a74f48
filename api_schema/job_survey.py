"""A job's survey as it was planned: given, or derived from its building."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, list_of, many, number, one, text, truth, whole
from api_schema.job import MOST_SURFACES, MOST_VERTICES, Junction
from api_schema.mesh import BuildingMesh
from api_schema.surface import Surface
from api_schema.survey_report import MeasuredSurface


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """Everything that is known of the geometry; the places of `checks` in the plan point into it."""

    surfaces: Annotated[tuple[Surface, ...], many(Surface, "The planes to be lined.", most=MOST_SURFACES)]
    junctions: Annotated[tuple[Junction, ...], many(Junction, "Where surfaces meet.", most=MOST_VERTICES)]
    measured: Annotated[tuple[MeasuredSurface, ...], many(MeasuredSurface, "What was measured, a row a surface.")]  # fmt: skip
    derived: Annotated[
        bool, truth("Was it derived from the job's building? Else the job's own surfaces stand here.", example=True)
    ]  # fmt: skip
    replaced: Annotated[
        tuple[str, ...],
        list_of(
            identifier("A surface.", example="ground-south"),
            "Surfaces given beside the building, in place of derived ones or added to them.",
        ),
    ] = ()
    envelope_area_m2: Annotated[
        Decimal | None,
        number("Every face round the heated space, lined or not, internal dimensions (ISO 9972); null without a building.",
               example="286.4", unit="m2"),
    ] = None  # fmt: skip
    volume_m3: Annotated[
        Decimal | None,
        number("Volume of the rooms, floor to ceiling; the job's own where it has no building.", example="217.532", unit="m3"),
    ] = None  # fmt: skip
    enclosed_m3: Annotated[
        Decimal | None,
        number("The same with the floors between storeys; null without a building.", example="217.532", unit="m3"),
    ] = None  # fmt: skip
    floor_area_m2: Annotated[
        Decimal | None, number("Floor area of all storeys; null without a building.", example="107.16", unit="m2")
    ] = None  # fmt: skip
    mesh: Annotated[
        BuildingMesh | None, one(BuildingMesh, "The closed shape in space; null without a building.")
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSurvey(Survey):
    """The survey of a job's planned revision."""

    job: Annotated[str, text("Public name of the job.", example="job_4Zk0c7tQm2")]
    revision: Annotated[int, whole("The job's revision it belongs to.", example=1, minimum=1)]
