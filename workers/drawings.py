"""Every drawing of a job, and the file that holds them in every form; used by the tasks and the command alike."""

from __future__ import annotations

import datetime
import io
import zipfile
from collections.abc import Mapping, Sequence

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.pressure_test import LeakNote
from api_schema.standard import Standard
from workers.documents import Letterhead, draw_surface, render_drawing


def drawings_of(
    job: Job, plan: Plan, standard: Standard, leaks: Sequence[LeakNote] = (), *, language: str = "en"
) -> dict[str, bytes]:
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
            language=language,
            leaks=leaks,
        )
        for surface in job.surfaces
        if surface.id in laid
    }


def zip_of_drawings(
    job: Job, plan: Plan, drawn: Mapping[str, bytes], profile: Profile, *, revision: int,
    made_at: datetime.datetime, letterhead: Letterhead,
) -> bytes:  # fmt: skip
    """A ZIP of `drawn`, the surfaces of a prepared job as SVG by their ids, with each as PDF and DXF beside it.

    The same input gives the same bytes. Raises `DocumentError`.
    """
    from workers.documents.dxf import draw_surface_dxf  # noqa: PLC0415 - half a second that plans need not wait for

    surfaces = {surface.id: surface for surface in job.surfaces}
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as file:
        for layout in plan.layout.surfaces:
            svg = drawn[layout.id]
            pdf = render_drawing(
                svg, layout.id, job, plan, profile, revision=revision, made_at=made_at, letterhead=letterhead
            )
            dxf = draw_surface_dxf(
                surfaces[layout.id], layout, reference=job.reference, language=profile.language
            )
            for ending, content in (("svg", svg), ("pdf", pdf), ("dxf", dxf)):
                entry = zipfile.ZipInfo(
                    f"{layout.id}.{ending}", made_at.astimezone(datetime.UTC).timetuple()[:6]
                )
                entry.compress_type = zipfile.ZIP_STORED if ending == "pdf" else zipfile.ZIP_DEFLATED
                entry.external_attr = 0o644 << 16
                file.writestr(entry, content)
    return made.getvalue()
