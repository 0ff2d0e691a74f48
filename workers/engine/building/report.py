"""What was measured, row by row, for paper and pages."""

from __future__ import annotations

from decimal import Decimal

from api_schema.job import Job, Junction
from api_schema.surface import Outline, Surface
from api_schema.survey import doubled_area_mm2, edge_length_mm
from api_schema.survey_report import MeasuredEdge, MeasuredOpening, MeasuredSurface


def measured(job: Job) -> tuple[MeasuredSurface, ...]:
    """A row for each surface of a job, as surveyed or derived. Areas to 0.01 m², half-even."""
    meets: dict[tuple[str, int], tuple[str, Decimal | None]] = {}
    for junction in job.junctions:
        for here, there in _both_ways(junction):
            meets[here] = (there[0], junction.angle_deg)
    return tuple(_row(surface, meets) for surface in job.surfaces)


def _both_ways(junction: Junction) -> tuple[tuple[tuple[str, int], tuple[str, int]], ...]:
    a, b = (junction.a.surface, junction.a.edge), (junction.b.surface, junction.b.edge)
    return ((a, b), (b, a))


def _row(surface: Surface, meets: dict[tuple[str, int], tuple[str, Decimal | None]]) -> MeasuredSurface:
    finishes = {finish.edge: finish.finish for finish in surface.edges}
    edges = []
    for edge in range(len(surface.outline_mm)):
        other, angle = meets.get((surface.id, edge), ("", None))
        length = round(edge_length_mm(surface.outline_mm, edge))
        edges.append(MeasuredEdge(edge, length, other or finishes.get(edge, ""), angle))
    openings = tuple(
        MeasuredOpening(
            opening.id, opening.kind, *_extent(opening.outline_mm), _square_metres(opening.outline_mm)
        )
        for opening in surface.openings
    )
    gross = _square_metres(surface.outline_mm)
    _, _, width, height = _extent(surface.outline_mm)
    holes = sum((opening.area_m2 for opening in openings), Decimal(0))
    return MeasuredSurface(
        surface.id, surface.room, surface.kind, width, height, gross, gross - holes, tuple(edges), openings,
        sum(penetration.count for penetration in surface.penetrations),
    )  # fmt: skip


def _extent(outline: Outline) -> tuple[int, int, int, int]:
    us, vs = [u for u, _ in outline], [v for _, v in outline]
    return min(us), min(vs), max(us) - min(us), max(vs) - min(vs)


def _square_metres(outline: Outline) -> Decimal:
    return round(Decimal(abs(doubled_area_mm2(outline))) / 2_000_000, 2)
