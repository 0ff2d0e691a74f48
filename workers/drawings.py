"""Every drawing of a job; used by the tasks and by the command alike."""

from __future__ import annotations

from collections.abc import Sequence

from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.pressure_test import LeakNote
from api_schema.standard import Standard
from workers.documents import draw_surface


def drawings_of(job: Job, plan: Plan, standard: Standard, leaks: Sequence[LeakNote] = ()) -> dict[str, bytes]:
    """Every surface of a prepared job as SVG, by its id, with the leaks found on it."""
    centres_mm = (
        standard.fixing_centres_blown_in_mm
        if job.insulation == "blown_in"
        else standard.fixing_centres_in_place_mm
    )
    laid = {layout.id: layout for layout in plan.layout.surfaces}
    return {
        surface.id: draw_surface(
            surface,
            laid[surface.id],
            tuple(sealing for sealing in plan.take_off.penetrations if sealing.surface == surface.id),
            standard,
            centres_mm,
            leaks=leaks,
        )
        for surface in job.surfaces
        if surface.id in laid
    }
