"""The building from two opposite corners, each lined surface with its name: SVG, isometric (ISO 5456-3).

Hidden parts are cut away exactly: a face keeps what no nearer face covers. A name that does not fit on its surface
becomes a number, and the numbers are listed below.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from api_schema.mesh import BuildingMesh, SurfacePlane
from api_schema.surface import Surface
from workers.documents.drawing import sheet as look
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.texts import Texts

_VIEW_WIDE_MM, _VIEW_HIGH_MM, _GAP_MM = 92.0, 86.0, 6.0
_TEXT_MM, _LEAST_TEXT_MM = 2.9, 2.5  # eight points and seven: smaller is not read on paper
_PAD_MM = 0.8  # kept clear on both sides of a name
_NUMBER_MM = 1.9  # radius of room a number wants; with less it stands only where its surface shows best
_SPECK_MM2 = 1.0  # visible scraps smaller than this, in mm² of the building, are rounding
_TINTS = {
    "wall": "#dcebee",
    "slope": "#f8eed8",
    "ceiling": "#ece6f0",
    "floor": "#e6eedd",
    "reveal": "#dcebee",
}
_UNLINED = "#e3e3e3"

Vector = tuple[float, float, float]
Shape = Polygon | MultiPolygon


@dataclass(frozen=True, slots=True)
class _Look:
    """Unit vectors of a view: to the right and up on paper, and towards the eye."""

    name: str
    right: Vector
    up: Vector
    eye: Vector


_A, _B, _C = 1 / math.sqrt(2), 1 / math.sqrt(6), 1 / math.sqrt(3)
_VIEWS = (
    _Look("isometric.front_right", (_A, _A, 0.0), (-_B, _B, 2 * _B), (_C, -_C, _C)),
    _Look("isometric.back_left", (-_A, -_A, 0.0), (_B, -_B, 2 * _B), (-_C, _C, _C)),
)


@dataclass(frozen=True, slots=True)
class _Facet:
    """What is seen of one surface, or of one face without membrane, on the view's plane."""

    surface: str | None
    outline: Shape
    nearness: tuple[float, float, float]  # distance towards the eye = a·x + b·y + c


def draw_isometric(mesh: BuildingMesh, surfaces: Sequence[Surface], *, language: str = "en") -> bytes:
    """The lined surfaces of a building with their names and openings, from two sides, as SVG.

    `mesh` and `surfaces` are those of one derived building. The same input gives the same bytes.
    """
    texts = Texts(language)
    by_name = {surface.id: surface for surface in surfaces}
    planes = {plane.surface: plane for plane in mesh.planes}
    views = [list(_visible(mesh, view)) for view in _VIEWS]
    scale = min(_fit(facets) for facets in views)
    pen, numbers = Pen(), dict[str, int]()
    seen: set[str] = set()
    best = _best_view(views)
    for index, (view, facets) in enumerate(zip(_VIEWS, views, strict=True)):
        left = index * (_VIEW_WIDE_MM + _GAP_MM)
        paper = _Paper(facets, scale, left)
        _draw_faces(pen, paper, facets, by_name)
        for facet in facets:
            if facet.surface in by_name:
                clear = _draw_openings(
                    pen, paper, facet, by_name[facet.surface], planes.get(facet.surface), view
                )
                _name(pen, paper, facet.surface, clear, numbers, must=best[facet.surface] == index)
        pen.text((left + _VIEW_WIDE_MM / 2, 4.0), texts(view.name), 3.2, bold=True, fill=look.INK)
        seen |= {facet.surface for facet in facets if facet.surface is not None}
    height = _key(pen, numbers, [name for name in by_name if name not in seen], texts)
    return pen.svg(2 * _VIEW_WIDE_MM + _GAP_MM, height, texts("isometric.title"), texts.language)


def _visible(mesh: BuildingMesh, view: _Look) -> Iterator[_Facet]:
    """What no nearer facet covers, of every facet turned towards the eye."""
    facets = list(_facets(mesh, view))
    tree = shapely.STRtree([facet.outline for facet in facets])
    for index, facet in enumerate(facets):
        rest: Shape = facet.outline
        for other in sorted(int(hit) for hit in tree.query(facet.outline, predicate="intersects")):
            if other != index and _covers(facets[other], facet):
                rest = rest.difference(facets[other].outline)
        rest = _solid_part(rest)
        if not rest.is_empty:
            yield _Facet(facet.surface, rest, facet.nearness)


def _facets(mesh: BuildingMesh, view: _Look) -> Iterator[_Facet]:
    groups: dict[str, list[tuple[Polygon, tuple[float, float, float]]]] = {}
    for index, face in enumerate(mesh.faces):
        corners = [mesh.corners_mm[corner] for corner in face.corners]
        normal = _normal(corners)
        size = math.sqrt(_dot(normal, normal))
        towards = _dot(normal, view.eye)
        if size == 0 or towards / size < 1e-6:
            continue
        outline = Polygon([(_dot(p, view.right), _dot(p, view.up)) for p in corners])
        # On the face n · p is constant, and p = x·right + y·up + nearness·eye.
        a, b = -_dot(normal, view.right) / towards, -_dot(normal, view.up) / towards
        nearness = (a, b, _dot(normal, corners[0]) / towards)
        name = f"#{index}" if face.surface is None else face.surface
        groups.setdefault(name, []).append((outline.buffer(0), nearness))
    for name, parts in groups.items():
        merged = _solid_part(unary_union([outline for outline, _ in parts]).buffer(0))
        if not merged.is_empty:
            yield _Facet(None if name.startswith("#") else name, merged, parts[0][1])


def _covers(near: _Facet, far: _Facet) -> bool:
    """Does the one lie in front of the other where they overlap?"""
    shared = _solid_part(near.outline.intersection(far.outline))
    if shared.is_empty:
        return False
    point = shared.representative_point()
    return _nearness(near, point.x, point.y) > _nearness(far, point.x, point.y)


def _nearness(facet: _Facet, x: float, y: float) -> float:
    a, b, c = facet.nearness
    return a * x + b * y + c


def _solid_part(shape: shapely.Geometry) -> Shape:
    """Only what has an area; no slivers."""
    parts = [
        part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > _SPECK_MM2
    ]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


class _Paper:
    """From the view's plane, in millimetres of the building, to millimetres of paper."""

    def __init__(self, facets: Sequence[_Facet], scale: float, left: float) -> None:
        x0, y0, x1, y1 = shapely.total_bounds([facet.outline for facet in facets])
        self.scale = scale
        self._x = left + _VIEW_WIDE_MM / 2 - scale * (x0 + x1) / 2
        self._y = 8.0 + _VIEW_HIGH_MM / 2 + scale * (y0 + y1) / 2

    def at(self, x: float, y: float) -> tuple[float, float]:
        return (self._x + self.scale * x, self._y - self.scale * y)

    def rings(self, shape: Shape) -> list[list[tuple[float, float]]]:
        rings = []
        for part in shapely.get_parts(shape):
            rings += [
                [self.at(x, y) for x, y in ring.coords[:-1]] for ring in (part.exterior, *part.interiors)
            ]
        return rings


def _fit(facets: Sequence[_Facet]) -> float:
    x0, y0, x1, y1 = shapely.total_bounds([facet.outline for facet in facets])
    return float(min((_VIEW_WIDE_MM - 1) / (x1 - x0), _VIEW_HIGH_MM / (y1 - y0)))


def _best_view(views: Sequence[Sequence[_Facet]]) -> dict[str, int]:
    """The view in which most of each surface is seen."""
    found: dict[str, tuple[float, int]] = {}
    for index, facets in enumerate(views):
        for facet in facets:
            if facet.surface is not None and facet.outline.area > found.get(facet.surface, (0.0, 0))[0]:
                found[facet.surface] = (facet.outline.area, index)
    return {name: index for name, (_, index) in found.items()}


def _draw_faces(pen: Pen, paper: _Paper, facets: Sequence[_Facet], surfaces: Mapping[str, Surface]) -> None:
    for facet in facets:
        fill = _TINTS[surfaces[facet.surface].kind] if facet.surface in surfaces else _UNLINED
        pen.shape(
            paper.rings(facet.outline), fill=fill, stroke=look.INK, stroke_width=0.25, stroke_linejoin="round"
        )


def _draw_openings(
    pen: Pen, paper: _Paper, facet: _Facet, surface: Surface, plane: SurfacePlane | None, view: _Look
) -> Shape:
    """Draws what is seen of the openings, and returns what is left of the surface for its name."""
    clear: Shape = facet.outline
    for hole in _openings(surface, plane, view):
        shown = _solid_part(hole.intersection(facet.outline))
        clear = _solid_part(clear.difference(hole))
        pen.shape(paper.rings(shown), fill=look.PAPER, stroke=look.INK, stroke_width=look.THIN)
    return clear


def _openings(surface: Surface, plane: SurfacePlane | None, view: _Look) -> list[Polygon]:
    if plane is None:
        return []
    outlines = []
    for opening in surface.openings:
        ring = []
        for u, v in opening.outline_mm:
            p = [
                o + u * float(r) + v * float(w)
                for o, r, w in zip(plane.origin_mm, plane.right, plane.up, strict=True)
            ]
            ring.append((_dot(p, view.right), _dot(p, view.up)))
        outlines.append(Polygon(ring).buffer(0))
    return outlines


def _name(pen: Pen, paper: _Paper, name: str, shape: Shape, numbers: dict[str, int], *, must: bool) -> None:
    """The name where it fits on its surface, else its number."""
    parts = sorted(shapely.get_parts(shape), key=lambda part: -part.area)
    if not parts:
        return
    circle = shapely.maximum_inscribed_circle(parts[0], tolerance=20)
    roomiest, room = circle.coords[0], circle.length * paper.scale
    for size in (_TEXT_MM, _LEAST_TEXT_MM):
        wide, high = (text_width(name, size) / 2 + _PAD_MM) / paper.scale, 0.6 * size / paper.scale
        for x, y in (parts[0].centroid.coords[0], roomiest):
            if parts[0].contains(box(x - wide, y - high, x + wide, y + high)):
                pen.text(paper.at(x, y), name, size, fill=look.INK)
                return
    if room < _NUMBER_MM and not must:
        return
    number = numbers.setdefault(name, len(numbers) + 1)
    radius = min(2.3, max(1.8, room))
    middle = parts[0].centroid if parts[0].contains(parts[0].centroid) else shapely.Point(roomiest)
    at = paper.at(middle.x, middle.y)
    pen.circle(at, radius, fill=look.PAPER, stroke=look.INK, stroke_width=look.THIN)
    pen.text(
        at,
        str(number),
        max(_LEAST_TEXT_MM, 1.25 * radius if number < 10 else radius),
        fill=look.INK,
        bold=True,
    )


def _key(pen: Pen, numbers: Mapping[str, int], unseen: Sequence[str], texts: Texts) -> float:
    """The numbered names in four columns, what is not seen, and what the drawing is for; gives the height."""
    top, wide = 8.0 + _VIEW_HIGH_MM + 6.0, (2 * _VIEW_WIDE_MM + _GAP_MM) / 4
    entries = [f"{number}  {name}" for name, number in numbers.items()]
    rows = -(-len(entries) // 4)
    for index, entry in enumerate(entries):
        pen.text(
            (index // rows * wide, top + index % rows * 4.0), entry, _TEXT_MM, anchor="start", fill=look.INK
        )
    y = top + rows * 4.0
    for line in _lines(texts("isometric.below", surfaces=", ".join(unseen)) if unseen else ""):
        pen.text((0.0, y), line, _TEXT_MM, anchor="start", fill=look.INK)
        y += 4.0
    pen.text((0.0, y), texts("isometric.orientation"), _TEXT_MM, anchor="start", fill=look.SOFT_INK)
    return y + 4.0


def _lines(words: str) -> Iterator[str]:
    line = ""
    for word in words.split():
        if line and text_width(f"{line} {word}", _TEXT_MM) > 2 * _VIEW_WIDE_MM + _GAP_MM:
            yield line
            line = word
        else:
            line = f"{line} {word}".strip()
    if line:
        yield line


def _normal(corners: Sequence[Sequence[int]]) -> Vector:
    a = corners[0]
    x = y = z = 0.0
    for i in range(1, len(corners) - 1):
        d = [corners[i][k] - a[k] for k in range(3)]
        e = [corners[i + 1][k] - a[k] for k in range(3)]
        x += d[1] * e[2] - d[2] * e[1]
        y += d[2] * e[0] - d[0] * e[2]
        z += d[0] * e[1] - d[1] * e[0]
    return (x, y, z)


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
