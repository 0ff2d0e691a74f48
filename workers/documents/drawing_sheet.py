"""One surface on a sheet of its own: the drawing as it is stored, over a title block with the fields of ISO 7200."""

from __future__ import annotations

import datetime

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.layout import SurfaceLayout
from api_schema.plan import Plan
from api_schema.slanted import slanted_pieces
from workers.documents.drawing.sheet import height_mm, lies_across
from workers.documents.drawing.strips import counted, short_name
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts

_DRAWING = "surface.svg"
_UPRIGHT_MM, _ACROSS_MM = 239.0, 160.0  # between the margins and the title block
_AROUND_MM, _ROW_MM = 42.0, 6.3  # what heading, note and the head of the list take; a row of the list


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
    across = lies_across(drawing)
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
        across=across,
        pieces=_pieces(plan, layout, texts, (_ACROSS_MM if across else _UPRIGHT_MM) - height_mm(drawing)),
        alt=texts("pack.drawing_alt", surface=surface_id, strips=len(layout.strips)),
    )
    return to_pdf(html, {_DRAWING: drawing, **letterhead.assets}, made_at)


def _pieces(plan: Plan, layout: SurfaceLayout, texts: Texts, room_mm: float) -> list[tuple[str, ...]]:
    """The pieces in laying order, each with its strip, length, size and roll; nothing where they find no room."""
    pieces = [(strip, piece) for strip in layout.strips for piece in strip.pieces]
    if _AROUND_MM + _ROW_MM * len(pieces) > room_mm:
        return []
    here = {piece.id for _, piece in pieces}
    rolls = {
        name: roll.roll
        for roll in plan.cut_list.rolls
        for cut in roll.cuts
        for name in cut.pieces
        if name in here
    }
    slanted = {name: one for name, one in slanted_pieces(plan.layout, plan.cut_list).items() if name in here}
    rows = []
    for strip, piece in pieces:
        one = slanted.get(piece.id)
        marks = counted(piece.cut_length_mm if one is None else one.long_mm, texts)
        length = str(piece.cut_length_mm) if one is None else f"{one.long_mm} / {one.short_mm}"
        roll = str(rolls.get(piece.id, ""))
        rows.append(
            (short_name(strip.id), short_name(piece.id), marks, f"{length} × {piece.cut_width_mm}", roll)
        )
    return rows
