"""The pre-test walk-round as a PDF: a list with boxes, surface by surface."""

from __future__ import annotations

import datetime

from api_schema.account import Profile
from api_schema.walk_round import WalkRound
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts


def render_walk_round(
    walk: WalkRound, profile: Profile, *, made_at: datetime.datetime, letterhead: Letterhead = PLAIN
) -> bytes:
    """The list as PDF, A4; the same input gives the same bytes. Raises `DocumentError`."""
    texts = Texts(profile.language)
    parts = [{"name": texts("walk.before"), "room": "", "tables": list(in_tables(walk.before))}]
    parts += [
        {"name": each.surface, "room": each.room, "tables": list(in_tables(each.items))}
        for each in walk.surfaces
    ]
    html = page(
        "walk_round.html",
        title=f"{texts('walk.title')} {walk.job}",
        reference=walk.job,
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        heading=walk.title or walk.job,
        parts=parts,
        cautions=texts.lines("test.caution."),
    )
    return to_pdf(html, letterhead.assets, made_at)
