"""The survey report as a PDF: what was measured, surface by surface, edge by edge."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal

from api_schema.account import Profile
from api_schema.edge_side import edge_sides
from api_schema.job_survey import Survey
from api_schema.surface import FINISHES
from workers.documents.formats import Formats
from workers.documents.isometric import draw_isometric
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts


def render_survey_report(
    survey: Survey, reference: str, title: str, profile: Profile, *, made_at: datetime.datetime,
    letterhead: Letterhead = PLAIN,
) -> bytes:  # fmt: skip
    """The report as PDF, A4; the same input gives the same bytes. Raises `DocumentError`."""
    texts, formats = Texts(profile.language), Formats(profile.language)
    drawings = {}
    if survey.mesh is not None:
        drawings["isometric.svg"] = draw_isometric(survey.mesh, survey.surfaces, language=profile.language)
    html = page(
        "survey_report.html",
        title=f"{texts('survey.title')} {reference}",
        reference=reference,
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        heading=title or reference,
        lead=texts("survey.lead.derived" if survey.derived else "survey.lead.given"),
        facts=list(_facts(survey, texts, formats)),
        replaced=texts("survey.replaced", surfaces=", ".join(survey.replaced)) if survey.replaced else "",
        drawn=bool(drawings),
        surfaces=list(in_tables(list(_surfaces(survey, texts, formats)))),
        edges=list(in_tables(list(_edges(survey, texts, formats)))),
        angled=any(edge.angle_deg is not None for row in survey.measured for edge in row.edges),
        openings=list(in_tables(list(_openings(survey, texts, formats)))),
    )
    return to_pdf(html, {**drawings, **letterhead.assets}, made_at)


def _facts(survey: Survey, texts: Texts, formats: Formats) -> Iterator[tuple[str, str]]:
    rows = survey.measured
    yield texts("survey.fact.surfaces"), formats.number(len(rows))
    yield (
        texts("survey.fact.gross"),
        f"{formats.number(sum((row.gross_m2 for row in rows), Decimal(0)), 2)} m²",
    )
    yield texts("survey.fact.net"), f"{formats.number(sum((row.net_m2 for row in rows), Decimal(0)), 2)} m²"
    for name, value, unit in (
        ("envelope", survey.envelope_area_m2, "m²"),
        ("volume", survey.volume_m3, "m³"),
        ("enclosed", survey.enclosed_m3, "m³"),
        ("floor", survey.floor_area_m2, "m²"),
    ):
        if value is not None:
            yield texts(f"survey.fact.{name}"), f"{formats.number(value, 2)} {unit}"


def _surfaces(survey: Survey, texts: Texts, formats: Formats) -> Iterator[tuple[str, ...]]:
    for row in survey.measured:
        yield (
            row.surface, row.room, texts(f"survey.kind.{row.kind}"), str(row.width_mm), str(row.height_mm),
            formats.number(row.gross_m2, 2), formats.number(row.net_m2, 2),
            formats.number(row.penetrations),
        )  # fmt: skip


def _edges(survey: Survey, texts: Texts, formats: Formats) -> Iterator[dict[str, object]]:
    """Two edges a row."""
    sides = {surface.id: edge_sides(surface.outline_mm) for surface in survey.surfaces}
    for row in survey.measured:
        cells = [
            {
                "edge": f"{edge.edge} {texts(f'survey.side.{sides[row.surface][edge.edge].exact}')}",
                "length": str(edge.length_mm),
                "ends_on": _ends_on(edge.ends_on, texts),
                "open": not edge.ends_on,
                "angle": "" if edge.angle_deg is None else formats.number(edge.angle_deg, 1),
            }
            for edge in row.edges
        ]
        for at in range(0, len(cells), 2):
            yield {
                "surface": row.surface if at == 0 else "",
                "edges": cells[at : at + 2],
                "goes_on": at + 2 < len(cells),
            }


def _ends_on(what: str, texts: Texts) -> str:
    """A finish in words; a surface that it meets by its name."""
    if not what:
        return texts("survey.open")
    return texts(f"survey.finish.{what}") if what in FINISHES else what


def _openings(survey: Survey, texts: Texts, formats: Formats) -> Iterator[tuple[str, ...]]:
    for row in survey.measured:
        for hole in row.openings:
            yield (
                row.surface, hole.id, texts(f"survey.kind.{hole.kind}"), str(hole.from_left_mm), str(hole.up_mm),
                str(hole.width_mm), str(hole.height_mm), formats.number(hole.area_m2, 2),
            )  # fmt: skip
