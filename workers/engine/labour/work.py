"""How much of each operation a job holds, and where: the take-off sorted by surface."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.outputs import OperationName, OutputUnit
from api_schema.take_off import ItemName, TakeOff
from workers.engine.labour.conditions import POSITION_OF, Place, working_height_mm

_ITEMS_OF: dict[OperationName, tuple[ItemName, ...]] = {
    "tape_lap": ("lap", "end_lap"),
    "tape_corner": ("corner",),
    "seal_timber_edge": ("timber_edge",),
    "seal_masonry_edge": ("masonry_edge",),
    "seal_slab_edge": ("slab_edge",),
    "seal_frame": ("frame", "opening_perimeter"),
    "cut_out_opening": ("opening",),
    "fit_collar": ("collar",),
    "tape_captive": ("captive",),
    "tape_section": ("section",),
    "staple": ("staples",),
    "fix_batten": ("batten",),
}  # a flue is closed by somebody else, a competent person, and takes no hours here
_UNITS: dict[ItemName, OutputUnit] = {
    "opening": "piece", "collar": "piece", "captive": "piece", "section": "piece", "staples": "piece",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Task:
    """Some quantity of one operation at one place."""

    operation: OperationName
    unit: OutputUnit
    quantity: Decimal
    place: Place
    surface: str = ""
    """Where it is done; empty for what is done to the whole job."""


def tasks_of(job: Job, layout: Layout, take_off: TakeOff) -> Iterator[Task]:
    """Every task of a job. Areas are net areas; rooms are counted by name, surfaces without one as one room."""
    whole_job = Place("", job.stapler, job.insulation)
    rooms = Decimal(len({surface.room for surface in job.surfaces}))
    yield Task("set_up_room", "room", rooms, whole_job)
    places = {
        s.id: Place(POSITION_OF[s.kind], job.stapler, job.insulation, working_height_mm(s, job))
        for s in job.surfaces
    }
    for areas in take_off.surfaces:
        yield Task("hang_membrane", "m2", areas.net_m2, places[areas.id], areas.id)
    for surface in layout.surfaces:
        at = places[surface.id]
        for strip in surface.strips:
            for piece in strip.pieces:
                area = Decimal(piece.cut_length_mm * piece.cut_width_mm) / 1_000_000
                sized = Place(at.position, at.stapler, at.insulation, at.height_mm, area)
                yield Task("hang_piece", "piece", Decimal(1), sized, surface.id)
    for operation, items in _ITEMS_OF.items():
        for quantity in take_off.quantities:
            if quantity.item in items:
                for part in quantity.from_:
                    unit = _UNITS.get(quantity.item, "m")
                    yield Task(operation, unit, part.quantity, places[part.surface], part.surface)
    for areas in take_off.surfaces:
        yield Task("check_layer", "m2", areas.net_m2, places[areas.id], areas.id)
    yield Task("clear_away", "room", rooms, whole_job)
    yield Task("pre_test_walk", "job", Decimal(1 if job.surfaces else 0), whole_job)
