"""The leaky details of a job, place by place: lengths and counts from the take-off and the survey."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from api_schema.job import EdgeReference, Job, Junction
from api_schema.leakage import LeakDetail
from api_schema.surface import Opening, OpeningKind, Surface
from api_schema.take_off import ItemName, Sealing, TakeOff
from workers.engine.takeoff.segments import bare_stretches, edges_of, length_mm, total

WORDS: dict[LeakDetail, str] = {
    "membrane_face": "Face of the layer with its laps",
    "ceiling_corner": "Corner of wall and ceiling or slope",
    "other_corner": "Other corners",
    "slab_edge": "Edge on the slab",
    "masonry_edge": "Edge on masonry",
    "timber_edge": "Edge on timber",
    "frame_joint": "Joint to window and door frames",
    "window": "Windows and rooflights themselves",
    "door": "Doors themselves",
    "hatch": "Hatches themselves",
    "collar": "Penetrations with a collar",
    "taped_penetration": "Penetrations taped in strips",
    "section": "Timber and steel sections",
    "flue": "Flues",
    "forgotten_penetration": "A penetration nobody sealed",
}
_EDGES: tuple[tuple[ItemName, LeakDetail], ...] = (
    ("slab_edge", "slab_edge"), ("masonry_edge", "masonry_edge"), ("timber_edge", "timber_edge"),
    ("frame", "frame_joint"), ("opening_perimeter", "frame_joint"),
)  # fmt: skip
_SEALINGS: dict[str, LeakDetail] = {
    "collar": "collar",
    "taped": "taped_penetration",
    "section_taped": "section",
    "non_combustible": "flue",
}
_OPENINGS: dict[OpeningKind, LeakDetail] = {
    "window": "window",
    "rooflight": "window",
    "door": "door",
    "hatch": "hatch",
}
_OVERHEAD = ("ceiling", "slope")
_CENTIMETRE = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Detail:
    """So much of a detail at one place; `quantity` in the detail's unit (m², m or pieces)."""

    surface: str
    detail: LeakDetail
    quantity: Decimal
    words: str


def details_of(job: Job, take_off: TakeOff) -> tuple[Detail, ...]:
    """Every place that may leak, by kind and then in the job's order."""
    return (
        *_faces(take_off),
        *_corners(job),
        *_edges(take_off),
        *_openings(job),
        *(_sealing(sealing) for sealing in take_off.penetrations),
    )


def _faces(take_off: TakeOff) -> Iterator[Detail]:
    for areas in take_off.surfaces:
        yield Detail(
            areas.id, "membrane_face", areas.net_m2, f"Face of {areas.id} with its laps, {areas.net_m2} m²"
        )


def _corners(job: Job) -> Iterator[Detail]:
    surfaces = {surface.id: surface for surface in job.surfaces}
    for junction in job.junctions:
        a, b = surfaces[junction.a.surface], surfaces[junction.b.surface]
        metres = _junction_m(junction, surfaces)
        overhead = (a.kind in _OVERHEAD) != (b.kind in _OVERHEAD)
        yield Detail(
            a.id,
            "ceiling_corner" if overhead else "other_corner",
            metres,
            f"Corner of {a.id} and {b.id}, {metres} m",
        )


def _junction_m(junction: Junction, surfaces: dict[str, Surface]) -> Decimal:
    """Metres of corner joint: the shorter of both sides, less what openings take of each."""
    return min(_bare_m(side, surfaces[side.surface]) for side in (junction.a, junction.b))


def _bare_m(side: EdgeReference, surface: Surface) -> Decimal:
    edge = edges_of(surface.outline_mm)[side.edge]
    holes = [hole for opening in surface.openings for hole in edges_of(opening.outline_mm)]
    return (length_mm(edge, total(bare_stretches(edge, holes))) / 1000).quantize(_CENTIMETRE)


def _edges(take_off: TakeOff) -> Iterator[Detail]:
    for item, detail in _EDGES:
        for quantity in take_off.quantities:
            if quantity.item == item:
                for part in quantity.from_:
                    yield Detail(
                        part.surface, detail, part.quantity, f"{WORDS[detail]}, {part.surface}, {part.quantity} m"
                    )  # fmt: skip


def _openings(job: Job) -> Iterator[Detail]:
    for surface in job.surfaces:
        for opening in surface.openings:
            detail = _OPENINGS.get(opening.kind)
            if detail is None:  # an obstruction leaks round it, not through it
                continue
            many = _perimeter_m(opening) if detail == "window" else Decimal(1)
            yield Detail(
                surface.id, detail, many, f"{opening.kind.capitalize()} {opening.id} of {surface.id}"
            )


def _perimeter_m(opening: Opening) -> Decimal:
    around = sum((length_mm(edge) for edge in edges_of(opening.outline_mm)), Decimal(0))
    return (around / 1000).quantize(_CENTIMETRE)


def _sealing(sealing: Sealing) -> Detail:
    detail = _SEALINGS[sealing.method]
    alike = f", {sealing.count} alike" if sealing.count > 1 else ""
    return Detail(
        sealing.surface, detail, Decimal(sealing.count),
        f"{sealing.penetration} of {sealing.surface}{alike} ({WORDS[detail].lower()})",
    )  # fmt: skip
