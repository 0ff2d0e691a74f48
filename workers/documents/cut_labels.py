"""A label a piece, to stick on it as it is cut: what it is, where it goes, how long, from which roll.

Twenty-four to a sheet of A4, three across and eight down with nothing between them, so that they fit a common
label sheet and are quickly cut apart from plain paper. They come in the order of the cutting.
"""

from __future__ import annotations

import datetime
from typing import Any

from api_schema.account import Profile
from api_schema.cut_list import Cut
from api_schema.job import Job
from api_schema.layout import Piece, Strip
from api_schema.plan import Plan
from api_schema.surface import Surface
from workers.documents.drawing.strips import counted, short_name
from workers.documents.pages import page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts

PER_SHEET = 24
_ACROSS = 3


def render_cut_labels(job: Job, plan: Plan, profile: Profile, *, made_at: datetime.datetime) -> bytes:
    """The labels of every piece as PDF, A4, roll by roll; the same input gives the same bytes. Raises `DocumentError`.

    `plan` must be the plan of `job`. `made_at` is an aware time and the only one the file carries.
    """
    texts = Texts(profile.language)
    labels = _labels(job, plan, texts)
    rows = [labels[at : at + _ACROSS] for at in range(0, len(labels), _ACROSS)]
    down = PER_SHEET // _ACROSS
    html = page(
        "cut_labels.html",
        title=texts("labels.title", reference=job.reference),
        reference=job.reference,
        profile=profile,
        made_at=made_at,
        sheets=[rows[at : at + down] for at in range(0, len(rows), down)],
        across=_ACROSS,
    )
    return to_pdf(html, {}, made_at)


def _labels(job: Job, plan: Plan, texts: Texts) -> list[dict[str, Any]]:
    surfaces = {surface.id: surface for surface in job.surfaces}
    pieces = {
        piece.id: (strip, piece)
        for layout in plan.layout.surfaces
        for strip in layout.strips
        for piece in strip.pieces
    }
    return [
        _label(job, surfaces, *pieces[name], roll.roll, number, cut, texts)
        for roll in plan.cut_list.rolls
        for number, cut in enumerate(roll.cuts, start=1)
        for name in cut.pieces
    ]


def _label(
    job: Job, surfaces: dict[str, Surface], strip: Strip, piece: Piece, roll: int, number: int, cut: Cut, texts: Texts
) -> dict[str, Any]:  # fmt: skip
    surface = surfaces[piece.id.rpartition("/")[0]]
    ripped = bool(cut.lanes)
    return {
        "piece": short_name(piece.id),
        "surface": surface.id,
        "room": surface.room,
        "marks": counted(piece.cut_length_mm, texts),
        "size": texts(
            "pack.rip" if ripped else "labels.size", size=f"{piece.cut_length_mm} × {piece.cut_width_mm}"
        ),
        "strip": texts("labels.strip", strip=short_name(strip.id)),
        "roll": texts("labels.roll", roll=roll, cut=number),
        "reference": job.reference,
    }
