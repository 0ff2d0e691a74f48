"""The pre-test walk-round: everything to look at before the fan is switched on, from the job and its take-off."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from api_schema.job import Job
from api_schema.layout import Layout, SurfaceLayout
from api_schema.surface import Penetration, Surface
from api_schema.take_off import Sealing, TakeOff
from api_schema.walk_round import WalkItem, WalkRound, WalkSurface

_BEFORE = (
    WalkItem("opening", "Combustion appliances", "off and cold; ash removed from open fires and stoves, dampers shut"),
    WalkItem("opening", "Outer doors, windows, rooflights, hatches", "shut and latched"),
    WalkItem("opening", "Inner doors", "open and wedged"),
    WalkItem("opening", "Ventilation plant and extract fans", "off; sealed where the test is of the envelope"),
    WalkItem("opening", "Water traps, overflows", "filled with water"),
    WalkItem("opening", "Letter plates, keyholes, cat flaps", "as the test asks: shut, not sealed, unless noted"),
    WalkItem("face", "Loose membrane that may lift", "stapled or battened, so that the fan cannot tear it off"),
    WalkItem("face", "Wind", "not strong; a gusty day gives no steady reading"),
)  # fmt: skip
_EDGE_LOOK = {
    "timber": "taped without gaps or fish-mouths, pressed down all along",
    "masonry": "bead unbroken, membrane pressed into it with some slack, corners filled",
    "slab": "bead unbroken, slab brushed clean, no daylight under the edge",
    "frame": "taped on to the frame all along, corners cut and lapped",
}
_SEALING_LOOK = {
    "collar": "collar flat on the layer all round, close on the pipe, no burr has cut it",
    "taped": "strips overlap all round, pressed down on pipe and layer, no pockets between",
    "section_taped": "tape on all four sides, corners doubled, checks and cracks in timber filled",
    "non_combustible": "non-combustible closure in place by a competent person; no membrane, tape or rubber at the flue",
}
_SEALING_WORDS = {
    "collar": "collar",
    "taped": "taped in strips",
    "section_taped": "taped round",
    "non_combustible": "non-combustible closure",
}


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
    yield WalkItem("face", "Face", "no tears, no proud staples, no tool or screw holes left open")
    if layout is not None:
        for lap in layout.laps:
            yield WalkItem(
                "lap",
                f"Lap {lap.id.rpartition('/')[2]}, {lap.length_m:.2f} m",
                "tape centred, rubbed down, no air pockets",
            )
    for junction in job.junctions:
        if surface.id == junction.a.surface:  # each corner once, under its side a
            yield WalkItem(
                "corner", f"Corner with {junction.b.surface}", "taped flat on both sides, into the three-way corners"
            )  # fmt: skip
    for end in surface.edges:
        if end.finish in _EDGE_LOOK:
            yield WalkItem("edge", f"{_edge(surface, end.edge)} on {end.finish}", _EDGE_LOOK[end.finish])
    for opening in surface.openings:
        yield WalkItem(
            "opening", f"{opening.kind.capitalize()} {opening.id}",
            "layer sealed to it all round, corners lapped"
            if opening.kind == "obstruction"
            else "layer taped to the frame all round, corners lapped; sash shut on its seals",
        )  # fmt: skip
    for penetration in surface.penetrations:
        yield _penetration(penetration, sealings.get((surface.id, penetration.id)))


def _edge(surface: Surface, edge: int) -> str:
    """An edge as one finds it on the wall, seen from inside, its length in millimetres beside it.

    Where the outline runs counter-clockwise, an edge that runs to the right lies below, one that runs up on the right.
    """
    outline = surface.outline_mm
    following = (*outline[1:], *outline[:1])
    twice_area = sum(u * b - a * v for (u, v), (a, b) in zip(outline, following, strict=True))
    turn = 1 if twice_area > 0 else -1
    (u, v), (a, b) = outline[edge], following[edge]
    along, up = turn * (a - u), turn * (b - v)
    level, upright = ("Lower" if along > 0 else "Upper"), ("Right" if up > 0 else "Left")
    side = level if abs(along) >= abs(up) else upright
    return f"{side} edge, {math.hypot(along, up):.0f} mm,"


def _penetration(penetration: Penetration, sealing: Sealing | None) -> WalkItem:
    size = f", {penetration.diameter_mm} mm" if penetration.diameter_mm is not None else ""
    many = f", {penetration.count} alike" if penetration.count > 1 else ""
    method = f", {_SEALING_WORDS[sealing.method]}" if sealing is not None else ""
    inside = " Ducts and conduits are sealed inside too." if penetration.kind in ("duct", "cable") else ""
    look = _SEALING_LOOK[sealing.method] if sealing is not None else "sealed to the layer all round"
    return WalkItem("penetration", f"{penetration.id}: {penetration.kind}{size}{many}{method}", look + "." + inside if inside else look)  # fmt: skip
