"""The pre-test walk-round: everything to look at before the fan is switched on, from the job and its take-off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from api_schema.edge_side import edge_sides
from api_schema.job import Job
from api_schema.layout import Layout, SurfaceLayout
from api_schema.said import Key, said
from api_schema.surface import Penetration, Surface
from api_schema.survey import edge_length_mm
from api_schema.take_off import Sealing, TakeOff
from api_schema.walk_round import WalkItem, WalkKind, WalkRound, WalkSurface
from workers.engine.saying import walk_item


def _named(kind: WalkKind, key: str) -> WalkItem:
    """An item whose words stand in the catalogue whole, what to look for beside its name."""
    return walk_item(kind, said(key), said(f"{key}.look"))


_BEFORE = (
    _named("opening", "walk.before.appliances"),
    _named("opening", "walk.before.outer_doors"),
    _named("opening", "walk.before.inner_doors"),
    _named("opening", "walk.before.ventilation"),
    _named("opening", "walk.before.traps"),
    _named("opening", "walk.before.letter_plates"),
    _named("face", "walk.before.loose_membrane"),
    _named("face", "walk.before.wind"),
)
_SEALED_EDGES = ("timber", "masonry", "slab", "frame")


def walk_round(job: Job, take_off: TakeOff, layout: Layout | None = None) -> WalkRound:
    """The list of a job, surface by surface; laps one by one where the layout is given."""
    layouts = {one.id: one for one in layout.surfaces} if layout is not None else {}
    sealings = {(sealing.surface, sealing.penetration): sealing for sealing in take_off.penetrations}
    return WalkRound(
        job=job.reference,
        title=job.title,
        before=_BEFORE,
        surfaces=tuple(
            WalkSurface(
                surface.id, surface.room, tuple(_items(surface, job, layouts.get(surface.id), sealings))
            )
            for surface in job.surfaces
        ),
    )


def _items(
    surface: Surface,
    job: Job,
    layout: SurfaceLayout | None,
    sealings: Mapping[tuple[str, str], Sealing],
) -> Iterator[WalkItem]:
    yield _named("face", "walk.face")
    for lap in layout.laps if layout is not None else ():
        name = said("walk.lap", lap=lap.id.rpartition("/")[2], length_m=Decimal(f"{lap.length_m:.2f}"))
        yield walk_item("lap", name, said("walk.lap.look"))
    for junction in job.junctions:
        if surface.id == junction.a.surface:  # each corner once, under its side a
            corner = said("walk.corner", surface=junction.b.surface)
            yield walk_item("corner", corner, said("walk.corner.look"))
    sides = edge_sides(surface.outline_mm)
    for end in surface.edges:
        if end.finish in _SEALED_EDGES:
            key, length_mm = f"walk.finish.{end.finish}", round(edge_length_mm(surface.outline_mm, end.edge))
            edge = said(f"walk.edge.{sides[end.edge].nearest}", length_mm=length_mm, finish=Key(key))
            yield walk_item("edge", edge, said(f"{key}.look"))
    for opening in surface.openings:
        look = "walk.obstruction.look" if opening.kind == "obstruction" else "walk.opening.look"
        yield walk_item("opening", said(f"walk.opening.{opening.kind}", opening=opening.id), said(look))
    for penetration in surface.penetrations:
        yield _penetration(penetration, sealings.get((surface.id, penetration.id)))


def _penetration(penetration: Penetration, sealing: Sealing | None) -> WalkItem:
    key = "walk.penetration"
    named: dict[str, str | int | Key] = {
        "penetration": penetration.id,
        "kind": Key(f"kind.{penetration.kind}"),
    }
    if penetration.diameter_mm is not None:
        key, named["size_mm"] = f"{key}.sized", penetration.diameter_mm
    if penetration.count > 1:
        key, named["count"] = f"{key}.alike", penetration.count
    look = "walk.sealing.look"
    if sealing is not None:
        key, named["method"] = f"{key}.sealed", Key(f"walk.sealing.{sealing.method}")
        look = f"walk.sealing.{sealing.method}.look"
    inside = penetration.kind in ("duct", "cable")
    look_for = said("walk.sealing.inside", look=Key(look)) if inside else said(look)
    return walk_item("penetration", said(key, **named), look_for)
