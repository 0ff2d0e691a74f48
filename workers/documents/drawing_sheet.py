"""One surface on a sheet of its own: the drawing as it is stored, over a title block with the fields of ISO 7200."""

from __future__ import annotations

import datetime

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.plan import Plan
from workers.documents.drawing.sheet import lies_across
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts

_DRAWING = "surface.svg"


def render_drawing(
    drawing: bytes, surface_id: str, job: Job, plan: Plan, profile: Profile, *, revision: int,
    made_at: datetime.datetime, letterhead: Letterhead = PLAIN,
) -> bytes:  # fmt: skip
    """The sheet as PDF, A4, its drawing to the scale it names; the same input gives the same bytes.

    `drawing` is the surface as `draw_surface` drew it, `plan` the plan of `job`, whose layouts are counted for
    "sheet 3 of 29". Raises `DocumentError`, and ValueError where the plan has no such surface.
    """
    texts = Texts(profile.language)
    laid = [layout.id for layout in plan.layout.surfaces]
    layout = plan.layout.surfaces[laid.index(surface_id)]
    surface = next(one for one in job.surfaces if one.id == surface_id)
    html = page(
        "drawing.html",
        title=f"{job.reference} {surface_id}",
        reference=job.reference,
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        job_title=job.title or job.reference,
        surface=surface_id,
        about=" · ".join(filter(None, (surface.room, texts(f"kind.{surface.kind}")))),
        revision=revision,
        number=laid.index(surface_id) + 1,
        count=len(laid),
        drawing=_DRAWING,
        across=lies_across(drawing),
        alt=texts("pack.drawing_alt", surface=surface_id, strips=len(layout.strips)),
    )
    return to_pdf(html, {_DRAWING: drawing, **letterhead.assets}, made_at)
