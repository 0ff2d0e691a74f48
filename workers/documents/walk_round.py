"""The pre-test walk-round as a PDF: a list with boxes, surface by surface."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from api_schema.account import Profile
from api_schema.walk_round import WalkItem, WalkRound
from workers.documents.formats import Formats
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts


def render_walk_round(
    walk: WalkRound, profile: Profile, *, made_at: datetime.datetime, letterhead: Letterhead = PLAIN
) -> bytes:
    """The list as PDF, A4; the same input gives the same bytes. Raises `DocumentError`."""
    texts, formats = Texts(profile.language), Formats(profile.language)

    def tables(items: Sequence[WalkItem]) -> list[Sequence[dict[str, str]]]:
        return list(in_tables([_row(item, texts, formats) for item in items]))

    parts = [{"name": texts("walk.before"), "room": "", "tables": tables(walk.before)}]
    parts += [
        {"name": each.surface, "room": each.room, "tables": tables(each.items)} for each in walk.surfaces
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


def _row(item: WalkItem, texts: Texts, formats: Formats) -> dict[str, str]:
    return {
        "what": texts.sentence(item.what_said, formats, item.what),
        "look_for": texts.sentence(item.look_for_said, formats, item.look_for),
    }
