"""Draws one surface: outline, members, strips, holes, edges, dimensions and key."""

from __future__ import annotations

from collections.abc import Sequence

from api_schema.layout import SurfaceLayout
from api_schema.pressure_test import LeakNote
from api_schema.standard import Standard
from api_schema.surface import Surface
from api_schema.take_off import Sealing
from workers.documents.drawing import names
from workers.documents.drawing import sheet as look
from workers.documents.drawing.edges import (
    ROW,
    draw_allowances,
    draw_dimensions,
    keep_dimensions_clear,
    rows_of,
)
from workers.documents.drawing.geometry import Point, RunFrame, box_of, spans_inside
from workers.documents.drawing.holes import draw_openings, draw_penetrations, signs_of
from workers.documents.drawing.key import ENTRIES, draw_key
from workers.documents.drawing.leaks import draw_leaks, leaks_of
from workers.documents.drawing.pen import Pen
from workers.documents.drawing.places import Places
from workers.documents.drawing.sheet import Margins, Sheet
from workers.documents.drawing.strips import StripsOnPaper
from workers.documents.drawing.zero import draw_zero, has_zero
from workers.documents.texts import Texts

_EDGE, _TAGS, _LAPS = 6.0, 12.6, 8.0  # paper kept for edge words, strip tags, lap sizes
_MOST_MEMBERS = 2000  # closer lines than this many would be a grey field, not a drawing


def draw_surface(
    surface: Surface,
    layout: SurfaceLayout,
    sealings: Sequence[Sealing],
    standard: Standard,
    fixing_centres_mm: int,
    *,
    language: str = "en",
    leaks: Sequence[LeakNote] = (),
    beyond: int = 0,
) -> bytes:
    """The surface with its strips as SVG, to an ISO 5455 scale; its size is true millimetres of paper.

    `sealings` may be those of the whole job; the ones of this surface are drawn. `fixing_centres_mm` is what the
    staples stand apart on every member. `leaks` may be those of the whole test. With `beyond` it is drawn smaller than
    1 : `beyond`. The same input gives the same bytes.
    """
    texts = Texts(language)
    methods = {one.penetration: one for one in sealings if one.surface == surface.id}
    sheet = sheet_of(surface, layout, beyond=beyond)
    pen, places = Pen(), Places()
    outline: list[Point] = [(float(u), float(v)) for u, v in surface.outline_mm]
    holes = [[(float(u), float(v)) for u, v in opening.outline_mm] for opening in surface.openings]
    strips = StripsOnPaper(layout, outline, holes, sheet)

    strips.tints(pen)
    strips.pieces_as_cut(pen)
    _draw_members(pen, surface, outline, holes, sheet)
    strips.laps(pen, places)
    unnamed = draw_openings(surface.openings, sheet, pen, places, texts)
    pen.shape([sheet.all(outline)], fill="none", stroke=look.INK, stroke_width=look.WIDE)
    places.take_line(sheet.all([*outline, outline[0]]), look.WIDE)
    draw_penetrations(surface.penetrations, methods, sheet, pen, places)
    with_zero = bool(surface.penetrations) and has_zero(sheet)
    if with_zero:
        draw_zero(pen, sheet.at((0, 0)))
    keep_dimensions_clear(sheet, places)
    strips.tags(pen, places, texts)
    strips.lap_sizes(pen, places)
    names.write([*unnamed, *names.named(signs_of(surface.penetrations, sheet), methods)], sheet, pen, places)
    draw_allowances(surface.outline_mm, layout.edges, sheet, pen, places, texts)
    strips.piece_labels(pen, places, texts)

    draw_leaks(surface, leaks, sheet, pen, places)
    draw_dimensions(surface.outline_mm, sheet, pen)
    flags = {"leak_sealed" if leak.sealed else "leak" for _, leak, _ in leaks_of(surface, leaks)}
    used = {one.method for one in methods.values()} | flags | ({"zero"} if with_zero else set())
    entries = _entries(surface, layout, used)
    fixing = texts(
        "key.fixing", members=surface.members.centres_mm, staples=fixing_centres_mm, lap=standard.lap_mm
    )
    height = draw_key(pen, entries, fixing, sheet, texts)
    title = texts("drawing.title", surface=surface.id, scale=sheet.scale)
    return pen.svg(sheet.width, height, title, texts.language)


def sheet_of(surface: Surface, layout: SurfaceLayout, *, beyond: int = 0) -> Sheet:
    """The scale a surface is drawn to, smaller than 1 : `beyond`, and its place on paper."""
    frame = RunFrame.of(layout.direction)
    corners = [
        frame.to_surface((s, t))
        for strip in layout.strips
        for piece in strip.pieces
        for s in (piece.from_mm, piece.to_mm)
        for t in (strip.from_mm, strip.to_mm)
    ]
    sides = {"across": (_TAGS, _EDGE, _LAPS, _EDGE), "up": (_EDGE, _LAPS, _EDGE, _TAGS)}
    left, top, right, bottom = sides.get(layout.direction, (_TAGS, _TAGS, _TAGS, _TAGS))
    us, vs = [u for u, _ in surface.outline_mm], [v for _, v in surface.outline_mm]
    return Sheet.fitting(
        [*surface.outline_mm, *corners],
        lambda scale: Margins(
            left, top, right, bottom, ROW * len(rows_of(vs, scale)), ROW * len(rows_of(us, scale)) + 2.0
        ),
        beyond=beyond,
    )


def _draw_members(
    pen: Pen, surface: Surface, outline: list[Point], holes: list[list[Point]], sheet: Sheet
) -> None:
    """The middle line of every member where there is layer to staple, long dash and dot."""
    members = surface.members
    frame = RunFrame.of(members.direction)
    rings = [[frame.to_run(point) for point in ring] for ring in (outline, *holes)]
    _, low, _, high = box_of(rings[0])
    first = members.first_mm + -(-(low - members.first_mm) // members.centres_mm) * members.centres_mm
    count = int((high - first) // members.centres_mm) + 1
    if count > _MOST_MEMBERS:
        return
    lines = [
        [sheet.at(frame.to_surface((s, t))) for s in span]
        for t in (first + index * members.centres_mm for index in range(count))
        if t < high
        for span in spans_inside(rings, t)
    ]
    pen.lines(lines, stroke=look.MEMBER, stroke_width=look.THIN, stroke_dasharray="3 0.6 0.3 0.6")


def _entries(surface: Surface, layout: SurfaceLayout, methods: set[str]) -> list[str]:
    used = {"start", "strip", "piece", "member", *methods}
    end_laps = [end_lap for strip in layout.strips for end_lap in strip.end_laps]
    if layout.laps or end_laps:
        used.add("lap")
    if layout.laps or any(not end_lap.splice for end_lap in end_laps):
        used.add("joint")
    if any(end_lap.splice for end_lap in end_laps):
        used.add("splice")
    if surface.openings:
        used.add("opening")
    if any(edge.role == "returns" for edge in layout.edges):
        used.add("returns")
    return [entry for entry in ENTRIES if entry in used]
