"""One surface as DXF: the drawing's geometry at its true size, for a designer's or a machine's own program.

Model space is millimetres of the surface, one to one: x to the right and y up, seen from inside, as in the survey.
Layers carry the words of the plan. Line widths and kinds keep to the habits of ISO 128, text heights to ISO 3098,
for a print at the scale of ISO 5455 that the drawing on paper has. Nothing of it depends on the clock or on chance.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from api_schema.layout import Piece, Strip, SurfaceLayout
from api_schema.surface import Members, Penetration, Surface
from workers.documents.drawing.edges import rows_of
from workers.documents.drawing.geometry import Point, RunFrame, box_of, spans_inside
from workers.documents.drawing.holes import size_in_words
from workers.documents.drawing.strips import short_name
from workers.documents.drawing.surface import sheet_of
from workers.documents.dxf_library import ezdxf
from workers.documents.texts import Texts

# After the library itself, which `dxf_library` has to be the first to import.
from ezdxf.document import Drawing  # isort: skip
from ezdxf.enums import TextEntityAlignment  # isort: skip
from ezdxf.layouts import Modelspace  # isort: skip

_MILLIMETRES, _METRIC, _DECIMAL = 4, 1, 2  # $INSUNITS, $MEASUREMENT, $LUNITS
# Name, line kind, line width in hundredths of a millimetre, colour by number: dark ones, legible on white.
_LAYERS = (
    ("OUTLINE", "CONTINUOUS", 50, 7),
    ("OPENINGS", "CONTINUOUS", 35, 7),
    ("STRIPS", "DASHED", 18, 150),
    ("LAPS", "CONTINUOUS", 18, 30),
    ("MEMBERS", "LONG_DASH_DOT", 18, 34),
    ("PENETRATIONS", "CONTINUOUS", 35, 7),
    ("TEXT", "CONTINUOUS", 18, 7),
    ("DIMENSIONS", "CONTINUOUS", 18, 8),
)
# ISO 128-2 in millimetres of paper for a line 0.18 wide: dashes of 12 and 24 widths, gaps of 3, dots of half a width.
_LINE_KINDS = (
    ("DASHED", "dashed", (2.7, 2.16, -0.54)),
    ("LONG_DASH_DOT", "long dash and dot", (5.49, 4.32, -0.54, 0.09, -0.54)),
)
_SMALL, _LARGE = 2.5, 3.5  # text heights on paper
_ROW = 8.0  # millimetres of paper from one row of dimensions to the next
_MOST_MEMBERS = 2000


def draw_surface_dxf(
    surface: Surface, layout: SurfaceLayout, *, reference: str = "", language: str = "en"
) -> bytes:
    """The surface with its strips as DXF (AC1024), UTF-8; the same input gives the same bytes.

    `layout` must be the surface's own. Pieces are drawn as they are hung, past the outline where they hang past it.
    """
    texts, scale = Texts(language), sheet_of(surface, layout).scale
    with _nothing_of_the_clock():
        doc = _prepared(scale)
        _Model(doc, surface, layout, scale, texts).draw(reference)
        doc.classes.add_required_classes(doc.dxfversion)
        doc.classes.classes = dict(sorted(doc.classes.classes.items()))  # they come out of a set
        written = io.StringIO()
        doc.write(written)
    return written.getvalue().encode()


@contextmanager
def _nothing_of_the_clock() -> Iterator[None]:
    """Times and identifiers that ezdxf would write are fixed ones meanwhile."""
    options: Any = ezdxf.options
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _prepared(scale: int) -> Drawing:
    doc = ezdxf.new("R2010", units=_MILLIMETRES)
    doc.header["$MEASUREMENT"] = _METRIC
    doc.header["$LUNITS"] = _DECIMAL
    doc.header["$LTSCALE"] = float(scale)
    for name, description, pattern in _LINE_KINDS:
        doc.linetypes.add(name, list(pattern), description=description)
    for name, kind, width, colour in _LAYERS:
        doc.layers.add(name, linetype=kind, lineweight=width, color=colour)
    doc.dimstyles.new(
        "PLAN",
        dxfattribs={
            "dimscale": float(scale), "dimtxt": _SMALL, "dimtsz": 1.2, "dimexo": 1.0, "dimexe": 1.2, "dimdli": _ROW,
            "dimgap": 0.7, "dimtad": 1, "dimtih": 0, "dimtoh": 0, "dimdec": 0, "dimlfac": 1.0, "dimrnd": 1.0,
        },
    )  # fmt: skip
    return doc


class _Model:
    """Draws into model space, a layer a method."""

    def __init__(
        self, doc: Drawing, surface: Surface, layout: SurfaceLayout, scale: int, texts: Texts
    ) -> None:
        self._doc, self._space = doc, doc.modelspace()
        self._surface, self._layout, self._scale, self._texts = surface, layout, scale, texts
        self._frame = RunFrame.of(layout.direction)
        self._rings = _rings(surface)
        self._box = box_of(self._rings[0])

    def draw(self, reference: str) -> None:
        """Everything, from below to above."""
        space = self._space
        for strip in self._layout.strips:
            for piece in strip.pieces:
                _closed(space, "STRIPS", self._quad(piece.from_mm, piece.to_mm, strip.from_mm, strip.to_mm))
        self._laps()
        _members(space, self._surface.members, self._rings)
        for opening in self._surface.openings:
            _closed(space, "OPENINGS", opening.outline_mm)
        _closed(space, "OUTLINE", self._surface.outline_mm)
        for penetration in self._surface.penetrations:
            _penetration(space, penetration)
        self._words(reference)
        self._dimensions()
        left, bottom, right, top = self._box
        self._doc.set_modelspace_vport(
            max(top - bottom, right - left) * 1.3, ((left + right) / 2, (bottom + top) / 2)
        )

    def _quad(self, s_from: float, s_to: float, t_from: float, t_to: float) -> list[Point]:
        corners = ((s_from, t_from), (s_to, t_from), (s_to, t_to), (s_from, t_to))
        return [self._frame.to_surface(corner) for corner in corners]

    def _laps(self) -> None:
        for lap in self._layout.laps:
            for s_from, s_to in lap.spans_mm:
                _closed(self._space, "LAPS", self._quad(s_from, s_to, lap.at_mm, lap.at_mm + lap.overlap_mm))
        for strip in self._layout.strips:
            for end in strip.end_laps:
                _closed(self._space, "LAPS", self._quad(end.from_mm, end.to_mm, strip.from_mm, strip.to_mm))

    def _words(self, reference: str) -> None:
        left, bottom, _, _ = self._box
        for strip in self._layout.strips:
            for piece in strip.pieces:
                words = f"{short_name(piece.id)}: {piece.cut_length_mm} × {piece.cut_width_mm}"
                height = min(_LARGE * self._scale, (strip.to_mm - strip.from_mm) / 3)
                self._say(words, self._clear_of(strip, piece, height), height, turned=self._angle)
        for opening in self._surface.openings:
            u0, v0, u1, v1 = box_of(opening.outline_mm)
            words = f"{opening.id} {self._texts('kind.' + opening.kind)} {u1 - u0:.0f} × {v1 - v0:.0f}"
            height = min(_SMALL * self._scale, (v1 - v0) / 4, (u1 - u0) / len(words))
            self._say(words, ((u0 + u1) / 2, (v0 + v1) / 2), height)
        for hole in self._surface.penetrations:
            beside = hole.at_mm[0] + (hole.diameter_mm or hole.width_mm or 0) / 2 + self._scale
            words = f"{hole.id} {size_in_words(hole)}".strip()
            self._say(words, (beside, hole.at_mm[1]), _SMALL * self._scale, TextEntityAlignment.MIDDLE_LEFT)
        title = self._texts("drawing.title", surface=self._surface.id, scale=self._scale)
        words = " · ".join(filter(None, (reference, title, self._texts("key.units"))))
        rows = len(rows_of([u for u, _ in self._surface.outline_mm], self._scale))
        foot = bottom - (rows + 1.5) * _ROW * self._scale
        self._say(words, (left, foot), _LARGE * self._scale, TextEntityAlignment.LEFT)

    @property
    def _angle(self) -> float:
        along = self._frame.s_axis
        angle = math.degrees(math.atan2(along[1], along[0]))
        return angle - 180 if angle > 90.01 else angle

    def _clear_of(self, strip: Strip, piece: Piece, height: float) -> Point:
        """Where words of a height stand on a piece: in the middle of its longest run that no opening breaks."""
        rings = [[self._frame.to_run(point) for point in ring] for ring in self._rings]
        best = (0.0, (piece.from_mm + piece.to_mm) / 2, (strip.from_mm + strip.to_mm) / 2)
        for share in (0.5, 0.35, 0.65, 0.2, 0.8):
            t = strip.from_mm + share * (strip.to_mm - strip.from_mm)
            for start, end in spans_inside(rings, t - height):
                for after, before in spans_inside(rings, t + height):
                    low, high = max(start, after, piece.from_mm), min(end, before, piece.to_mm)
                    if high - low > best[0] + 1:  # only where it is worth leaving the middle for
                        best = (high - low, (low + high) / 2, t)
        return self._frame.to_surface(best[1:])

    def _say(
        self, words: str, at: Point, height: float,
        align: TextEntityAlignment = TextEntityAlignment.MIDDLE_CENTER, *, turned: float = 0.0,
    ) -> None:  # fmt: skip
        text = self._space.add_text(words, height=height, rotation=turned, dxfattribs={"layer": "TEXT"})
        text.set_placement(at, align=align)

    def _dimensions(self) -> None:
        left, bottom, _, _ = self._box
        us, vs = [u for u, _ in self._surface.outline_mm], [v for _, v in self._surface.outline_mm]
        for values, angle in ((us, 0.0), (vs, 90.0)):
            for index, row in enumerate(rows_of(values, self._scale)):
                off = (index + 1.5) * _ROW * self._scale
                for start, end in itertools.pairwise(row):
                    ends = ((start, bottom), (end, bottom)) if angle == 0 else ((left, start), (left, end))
                    base = (left, bottom - off) if angle == 0 else (left - off, bottom)
                    self._space.add_linear_dim(
                        base=base, p1=ends[0], p2=ends[1], angle=angle, dimstyle="PLAN",
                        dxfattribs={"layer": "DIMENSIONS"},
                    ).render()  # fmt: skip


def _rings(surface: Surface) -> list[list[Point]]:
    outlines = (surface.outline_mm, *(opening.outline_mm for opening in surface.openings))
    return [[(float(u), float(v)) for u, v in outline] for outline in outlines]


def _closed(space: Modelspace, layer: str, ring: Sequence[tuple[float, float]]) -> None:
    space.add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})


def _members(space: Modelspace, members: Members, rings: Sequence[Sequence[Point]]) -> None:
    """The middle line of every member where there is layer to staple."""
    frame = RunFrame.of(members.direction)
    run = [[frame.to_run(point) for point in ring] for ring in rings]
    _, low, _, high = box_of(run[0])
    first = members.first_mm + -(-(low - members.first_mm) // members.centres_mm) * members.centres_mm
    count = int((high - first) // members.centres_mm) + 1
    if count > _MOST_MEMBERS:
        return
    for t in (first + index * members.centres_mm for index in range(count)):
        for start, end in spans_inside(run, t) if t < high else ():
            ends = frame.to_surface((start, t)), frame.to_surface((end, t))
            space.add_line(*ends, dxfattribs={"layer": "MEMBERS"})


def _penetration(space: Modelspace, hole: Penetration) -> None:
    """Round ones as circles, sections as rectangles; a cable whose size nobody gave as a point."""
    u, v = hole.at_mm
    attributes = {"layer": "PENETRATIONS"}
    if hole.diameter_mm:
        space.add_circle((u, v), hole.diameter_mm / 2, dxfattribs=attributes)
    elif hole.width_mm:
        wide, high = hole.width_mm / 2, (hole.height_mm or hole.width_mm) / 2
        ring = [
            (u - wide, v - high),
            (u + wide, v - high),
            (u + wide, v + high),
            (u - wide, v + high),
        ]
        _closed(space, "PENETRATIONS", ring)
    else:
        space.add_point((u, v), dxfattribs=attributes)
