"""What is kept beside a plan: its survey, the drawing of the whole building, and its leakage budgets."""

from __future__ import annotations

from collections.abc import Iterable

from api_schema.job import Job
from api_schema.job_survey import Survey
from api_schema.leakage import LeakageValues, PredictedMeasured
from api_schema.leakage_defaults import default_leakage_values, target_presets
from api_schema.plan import Plan
from api_schema.tested import LeakageBudgets
from workers.documents import draw_isometric
from workers.engine.building import derive, measured
from workers.engine.pressure.budget import leakage_budget
from workers.engine.pressure.learning import rescaled

ISOMETRIC = "_isometric"  # its name among the drawings; a surface's starts with a letter or digit


def survey_of(sent: Job, prepared: Job) -> Survey:
    """The survey of a job: as it was sent, and as it was prepared for the engine."""
    rows = measured(prepared)
    if sent.building is None:
        return Survey(
            surfaces=prepared.surfaces,
            junctions=prepared.junctions,
            measured=rows,
            derived=False,
            volume_m3=sent.volume_m3,
        )
    shape = derive(sent.building)
    return Survey(
        surfaces=prepared.surfaces,
        junctions=prepared.junctions,
        measured=rows,
        derived=True,
        replaced=tuple(surface.id for surface in sent.surfaces),
        envelope_area_m2=shape.envelope_area_m2,
        volume_m3=shape.volume_m3,
        enclosed_m3=shape.enclosed_m3,
        floor_area_m2=shape.floor_area_m2,
        mesh=shape.mesh.record(),
    )


def isometric_of(survey: Survey, language: str = "en") -> dict[str, bytes]:
    """The drawing of the whole building by its name; nothing where there is no building."""
    return (
        {}
        if survey.mesh is None
        else {ISOMETRIC: draw_isometric(survey.mesh, survey.surfaces, language=language)}
    )


def values_of(history: Iterable[PredictedMeasured]) -> LeakageValues:
    """The component values, moved toward an account's own tests."""
    return rescaled(default_leakage_values(), history)


def budgets_of(prepared: Job, plan: Plan, survey: Survey, values: LeakageValues) -> LeakageBudgets:
    """The budget for the job's own target, and for every preset."""
    area = None if survey.envelope_area_m2 is None else float(survey.envelope_area_m2)
    return LeakageBudgets(
        own=leakage_budget(prepared, plan.take_off, values, envelope_area_m2=area),
        presets={
            preset.name: leakage_budget(
                prepared, plan.take_off, values, target=preset.target, envelope_area_m2=area
            )
            for preset in target_presets()
        },
    )
