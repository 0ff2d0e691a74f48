"""A page a surface: its drawing, its strips in laying order, what lies ahead, how each penetration is sealed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from api_schema.layout import Piece, Strip, SurfaceLayout
from api_schema.surface import Penetration, Surface
from workers.documents.drawing import draw_surface
from workers.documents.drawing.geometry import RunFrame, box_of
from workers.documents.drawing.leaks import LEAK
from workers.documents.drawing.pen import text_width
from workers.documents.drawing.sheet import lies_across
from workers.documents.drawing.strips import counted, short_name
from workers.documents.drawing.surface import sheet_of
from workers.documents.pages import in_tables
from workers.documents.site_pack.pack import Pack
from workers.documents.site_pack.rolls import as_it_hangs
from workers.documents.site_pack.room import draw_lines, lines_left, rows_mm, runs_over_mm

_NAME_MM, _ABOUT_MM, _CELL_MM = 8.9, 4.4, 4.6  # type of the surface's name, of what it is and of a cell
_BESIDE_MM = 180.0  # what the two find room in beside each other
_TO_BE_SURE_MM = 8.0  # what a smaller drawing must leave: words break earlier than they are long
_SMALL = 50  # 1 : 50; what has holes is not drawn smaller than that to spare a page: it would get crowded


def surface_pages(pack: Pack, drawings: Mapping[str, bytes]) -> list[dict[str, Any]]:
    """What each surface's page prints; its drawing goes to the pack's assets."""
    return [
        _page(pack, layout, surface, drawings.get(surface.id))
        for layout, surface in pack.layout_and_surface()
    ]


def _page(pack: Pack, layout: SurfaceLayout, surface: Surface, drawn: bytes | None) -> dict[str, Any]:
    texts = pack.texts
    sealings = pack.sealings_of(surface.id)
    drawing = f"{pack.anchors[surface.id]}.svg"
    areas = {one.id: one for one in pack.plan.take_off.surfaces}
    about = [surface.room, texts(f"kind.{surface.kind}")]
    if surface.id in areas:
        about.append(f"{pack.formats.number(areas[surface.id].net_m2, 1)} m²")
    strips = [
        _strip_row(pack, surface, layout, strip, piece) for strip in layout.strips for piece in strip.pieces
    ]
    holes = [
        {
            "name": penetration.id,
            "what": pack.what(penetration),
            "where": texts("pack.at", right=penetration.at_mm[0], up=penetration.at_mm[1]),
            "how": pack.how_sealed(sealing),
        }
        for sealing, penetration in sealings
    ]
    notes = [*_splices(pack, layout), *_slants(pack, layout)]
    pack.assets[drawing] = _drawn_to_fit(pack, layout, surface, drawn, strips, holes, len(notes))
    said = " · ".join(filter(None, about))
    beside = text_width(surface.id, _NAME_MM) + text_width(said, _ABOUT_MM) < _BESIDE_MM
    return {
        "name": surface.id,
        "anchor": pack.anchors[surface.id],
        "about": said,
        "place": "about" if beside else "lead",
        "how": _how(pack, layout, surface),
        "drawing": drawing,
        "across": lies_across(pack.assets[drawing]),
        "alt": texts("pack.drawing_alt", surface=surface.id, strips=len(layout.strips)),
        "strips": list(in_tables(strips)),
        "notes": notes,
        "penetrations": list(in_tables(holes)),
        "names": name_column(surface.penetrations),
        "lines": _lines(pack, drawing, strips, holes, len(notes)),
    }  # fmt: skip


def _drawn_to_fit(
    pack: Pack, layout: SurfaceLayout, surface: Surface, drawn: bytes | None, strips: list[dict[str, str]],
    holes: list[dict[str, str]], notes: int,
) -> bytes:  # fmt: skip
    """The drawing: one scale smaller where that spares a second page for a few rows of its tables.

    A drawing with leaks noted on it stays as it was drawn, since they are known to it alone.
    """

    def draw(beyond: int = 0) -> bytes:
        return draw_surface(
            surface,
            layout,
            [sealing for sealing, _ in pack.sealings_of(surface.id)],
            pack.standard,
            pack.fixing_centres_mm,
            language=pack.texts.language,
            beyond=beyond,
        )

    def over(drawing: bytes) -> float:
        wide = 87.0 if lies_across(drawing) else 0.0  # what a page on its side has more for the last column
        rows = [[(row["size"], 43.0), (row["ahead"], 65.0 + wide)] for row in strips]
        sealed = [[(row["what"], 58.0), (row["where"], 46.0), (row["how"], 72.0 + wide)] for row in holes]
        return runs_over_mm(drawing, rows, sealed, notes)

    first = drawn or draw()
    if over(first) <= 0 or LEAK.encode() in first:
        return first
    scale = sheet_of(surface, layout).scale
    if scale >= _SMALL and (surface.openings or surface.penetrations):
        return first
    smaller = draw(beyond=scale)
    return smaller if over(smaller) <= -_TO_BE_SURE_MM else first


def name_column(penetrations: Iterable[Penetration]) -> str:
    """The style of the column of names: as wide as the longest asks for, within bounds."""
    widest = max((text_width(one.id, _CELL_MM) for one in penetrations), default=0.0)
    return "w14" if widest < 12 else "w20" if widest < 18 else "w34"


def _lines(
    pack: Pack, drawing: str, strips: list[dict[str, str]], holes: list[dict[str, str]], notes: int
) -> str:
    """Lines to write on, where the page has room for them: their name among the assets, else nothing."""
    if lies_across(pack.assets[drawing]):
        return ""
    count = lines_left(
        pack.assets[drawing],
        rows_mm([(row["size"], 43.0), (row["ahead"], 65.0)] for row in strips),
        rows_mm([(row["what"], 58.0), (row["where"], 46.0), (row["how"], 72.0)] for row in holes),
        notes,
    )
    if not count:
        return ""
    name = f"lines-{count}.svg"
    if name not in pack.assets:
        pack.assets[name] = draw_lines(count, pack.texts("pack.lines_alt"), pack.texts.language)
    return name


def _splices(pack: Pack, layout: SurfaceLayout) -> Iterator[str]:
    """How each spliced piece is hung, in laying order."""
    starts = {piece.id: piece.from_mm for strip in layout.strips for piece in strip.pieces}
    spliced = pack.plan.cut_list.spliced
    for one in spliced.splices if spliced is not None else ():
        first, second = one.parts
        if first in starts:
            yield pack.texts(
                "splice.hang",
                piece=short_name(one.piece),
                first=short_name(first),
                second=short_name(second),
                overlap=one.overlap_mm,
                at=one.member_mm - starts[first],
            )


def _slants(pack: Pack, layout: SurfaceLayout) -> Iterator[str]:
    """Which edge of each slanted piece is how long, in laying order."""
    for strip in layout.strips:
        for piece in strip.pieces:
            if piece.id in pack.slanted:
                edges = as_it_hangs(pack, piece.id, short_name(piece.id))
                yield pack.texts("slanted.hangs", edges=edges, partner=pack.slanted[piece.id].partner)


def _how(pack: Pack, layout: SurfaceLayout, surface: Surface) -> str:
    texts = pack.texts
    if not layout.strips:
        return texts("pack.nothing_to_lay")
    members = texts(f"members.{surface.kind}")
    run = texts(f"pack.run.{layout.run}", members=members)
    first, last = layout.strips[0], layout.strips[-1]
    lower = first.from_mm <= last.from_mm
    if layout.direction == "across":
        start = texts("pack.start.lower") if lower else texts("pack.start.upper")
    elif layout.direction == "up":
        start = texts("pack.start.left") if lower else texts("pack.start.right")
    else:
        start = texts("pack.start.slanting")
    overhead = texts("pack.overhead") if surface.kind in ("ceiling", "slope") else ""
    return " ".join(filter(None, (run, start, overhead)))


def _strip_row(
    pack: Pack, surface: Surface, layout: SurfaceLayout, strip: Strip, piece: Piece
) -> dict[str, str]:
    texts, slanted = pack.texts, pack.slanted.get(piece.id)
    size = f"{piece.cut_length_mm} × {piece.cut_width_mm}"
    if slanted is not None:
        size = f"{slanted.long_mm} / {slanted.short_mm} × {piece.cut_width_mm}"
    return {
        "strip": short_name(strip.id),
        "piece": short_name(piece.id),
        "marks": counted(piece.cut_length_mm if slanted is None else slanted.long_mm, texts),
        "size": texts("pack.rip", size=size) if strip.ripped_to_mm is not None else size,
        "roll": str(pack.roll_of.get(piece.id, "")),
        "ahead": ", ".join(_ahead(pack, surface, layout, strip, piece)) or texts("pack.clear"),
    }


def _ahead(pack: Pack, surface: Surface, layout: SurfaceLayout, strip: Strip, piece: Piece) -> list[str]:
    """What a piece meets, in the order it is met along the strip."""
    frame = RunFrame.of(layout.direction)
    met = []
    for opening in surface.openings:
        box = box_of([frame.to_run(point) for point in opening.outline_mm])
        met.append((box, f"{opening.id} {pack.texts(f'kind.{opening.kind}')}"))
    for penetration in surface.penetrations:
        s, t = frame.to_run(penetration.at_mm)
        half = max(penetration.diameter_mm or 0, penetration.width_mm or 0, penetration.height_mm or 0) / 2
        met.append(((s - half, t - half, s + half, t + half), penetration.id))
    return [
        words
        for box, words in sorted(met)
        if box[0] < piece.to_mm and box[2] > piece.from_mm and box[1] < strip.to_mm and box[3] > strip.from_mm
    ]
