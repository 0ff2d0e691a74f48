"""From the solids of a model to a proposed survey: which faces of its spaces are the envelope, and what lies in them.

A space's face is inner where another space has a face opposite it, no farther off than a wall or floor is thick; the
rest is envelope. Nothing is decided silently: what is assumed is said in the notes, what does not fit is listed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal

import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.ops import split

from api_schema.job import Junction
from api_schema.model_reading import ModelReading, Unplaced
from api_schema.surface import Members, Opening, Surface, SurfaceKind
from workers.models.bodies import Body, Model, dot
from workers.models.edges import join_edges
from workers.models.flat_faces import (
    EnvelopeFace,
    FlatFace,
    Shape,
    flat_faces,
    is_closed,
    solid_part,
    volume_mm3,
)
from workers.models.holes import lost_body, place_openings
from workers.models.nearby import Nearby

_THICKEST_WALL_MM, _THICKEST_FLOOR_MM = 700.0, 1000.0
_TOUCHING_MM = 60.0  # a lining may lie between a space and its wall
_OPPOSITE = -0.9998  # within 1.1° of facing each other
_SCRAP_MM2 = 50_000.0  # smaller left-overs are where three walls meet
_THIN_MM = 60.0
_STUDS = Members("up", 400, 45)
_RAFTERS = Members("up", 600, 45)


def propose(model: Model) -> ModelReading:
    """The proposed survey of a model."""
    unplaced = [
        Unplaced(kind=one.kind, name=one.name, reason=one.reason, model_id=one.model_id)
        for one in model.missing
    ]
    notes: list[str] = []
    faces = [flat_faces(space) for space in model.spaces]
    for space in model.spaces:
        if not is_closed(space):
            notes.append(
                f"{space.name} is not a closed solid in the model; its volume and faces need checking."
            )
    everywhere = Nearby([(index, face) for index, each in enumerate(faces) for face in each])
    envelope: list[EnvelopeFace] = []
    inner: list[tuple[FlatFace, Shape]] = []
    scraps = 0.0
    for index, space in enumerate(model.spaces):
        for face in faces[index]:
            outside, behind = _without_neighbours(face, index, everywhere)
            inner.append((face, behind))
            scraps += face.shape.area - outside.area - behind.area
            for outline in _simple_parts(outside):
                envelope.append(EnvelopeFace(index, space.name, face, outline))
    named = _named(envelope)
    openings, lost, inside = place_openings(model.openings, named, inner)
    unplaced += lost
    touched, bare = _contacts(model.elements, named)
    unplaced += [
        lost_body(element, "is marked as an outer part, but no space lies against it; is a room missing?")
        for number, element in enumerate(model.elements)
        if element.external and number not in touched
    ]
    notes += _remarks(model, inside)
    if scraps > _SCRAP_MM2 / 5:
        notes.append(
            f"Scraps where partitions end, {scraps / 1e6:.2f} m² in all, are left out of the outer faces."
        )
    if bare and model.elements:
        more = f" and {len(bare) - 8} more" if len(bare) > 8 else ""
        notes.append(
            f"No wall, roof or slab of the model touches {', '.join(bare[:8])}{more}: are they outer faces?"
        )
    surfaces = [_surface(name, one, openings.get(name, [])) for name, one in named]
    surfaces, junctions = join_edges(surfaces, [one for _, one in named])
    unspoken = _unspoken(surfaces, junctions)
    if unspoken:
        notes.append(
            f"{unspoken} edges meet an internal wall or floor, or nothing we know: say what each ends on."
        )
    if model.services:
        unplaced.append(
            Unplaced(
                kind="pipe_or_cable",
                name=f"{model.services} pipes, ducts and cables",
                reason="penetrations are not read from the model; mark them where they pass through the layer.",
            )
        )
    floors = sum(face.shape.area for each in faces for face in each if face.kind == "floor")
    return ModelReading(
        schema=model.schema,
        surfaces=tuple(surfaces),
        junctions=tuple(junctions),
        volume_m3=_decimal(sum(abs(volume_mm3(space)) for space in model.spaces) / 1e9),
        floor_area_m2=_decimal(floors / 1e6),
        envelope_area_m2=_decimal(sum(one.outline.area for one in envelope) / 1e6),
        unplaced=tuple(unplaced),
        notes=tuple(notes),
    )


def _without_neighbours(face: FlatFace, index: int, everywhere: Nearby) -> tuple[Shape, Shape]:
    """What of a face has no other space behind it, and what has."""
    thickest = _THICKEST_WALL_MM if face.kind == "wall" else _THICKEST_FLOOR_MM
    behind = [
        _seen_on(face, other)
        for owner, other in everywhere.near(face, thickest)
        if owner != index
        and dot(face.normal, other.normal) < _OPPOSITE
        and -1.0 <= face.off(other.origin) <= thickest
    ]
    hidden = solid_part(shapely.union_all(behind).intersection(face.shape)) if behind else MultiPolygon()
    if hidden.is_empty:
        return face.shape, hidden
    # Left-overs thinner than a wall's lining, or smaller than a hand, are corners where partitions end.
    rest = (
        face.shape.difference(hidden)
        .buffer(-_THIN_MM / 2, join_style="mitre")
        .buffer(_THIN_MM / 2, join_style="mitre")
    )
    kept = [part for part in shapely.get_parts(rest.intersection(face.shape)) if part.area > _SCRAP_MM2]
    return solid_part(MultiPolygon([part for part in kept if isinstance(part, Polygon)])), hidden


def _seen_on(face: FlatFace, other: FlatFace) -> Shape:
    """The outline of another face, carried square on to this one."""
    parts = []
    for part in shapely.get_parts(other.shape):
        rings = [
            [face.place(other.space(u, v)) for u, v in ring.coords]
            for ring in (part.exterior, *part.interiors)
        ]
        parts.append(Polygon(rings[0], rings[1:]).buffer(0))
    return solid_part(shapely.union_all(parts))


def _simple_parts(shape: Shape) -> Iterator[Polygon]:
    """Outlines without holes, largest cuts first; a part with holes is cut upright through the first."""
    waiting = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]
    while waiting:
        part = waiting.pop()
        if not part.interiors:
            tidy = part.simplify(0.5)
            if isinstance(tidy, Polygon) and tidy.area > 0:
                yield shapely.geometry.polygon.orient(tidy)
            continue
        left, _, right, _ = part.interiors[0].bounds
        middle, low, high = (left + right) / 2, part.bounds[1] - 1, part.bounds[3] + 1
        line = LineString([(middle, low), (middle, high)])
        waiting += [piece for piece in split(part, line).geoms if isinstance(piece, Polygon)]


def _named(envelope: Sequence[EnvelopeFace]) -> list[tuple[str, EnvelopeFace]]:
    """Names from the space and what the face is, numbered; each once."""
    count: Counter[str] = Counter()
    named = []
    for one in envelope:
        space = re.sub(r"[^A-Za-z0-9._-]+", "-", one.name).strip("-._") or "space"
        stem = f"{space[:40]}-{one.face.kind}"
        count[stem] += 1
        named.append((f"{stem}-{count[stem]}", one))
    return named


def _surface(name: str, one: EnvelopeFace, openings: Sequence[Opening]) -> Surface:
    u, v, _, _ = one.outline.bounds
    outline = tuple((round(x - u), round(y - v)) for x, y in one.outline.exterior.coords[:-1])
    kind: SurfaceKind = one.face.kind  # type: ignore[assignment]
    return Surface(
        id=name, kind=kind, outline_mm=outline, members=_RAFTERS if kind == "slope" else _STUDS,
        room=one.name[:80], openings=tuple(openings),
    )  # fmt: skip


def _contacts(
    elements: Sequence[Body], named: Sequence[tuple[str, EnvelopeFace]]
) -> tuple[set[int], list[str]]:
    """Which walls, roofs and slabs lie against an outer face, and which outer faces nothing lies against."""
    around = Nearby(
        [(number, face) for number, element in enumerate(elements) for face in flat_faces(element)]
    )
    touched: set[int] = set()
    bare: list[str] = []
    for name, one in named:
        against = {number for number, face in around.near(one.face, _TOUCHING_MM) if _touches(one, face)}
        touched |= against
        if not against:
            bare.append(name)
    return touched, bare


def _touches(one: EnvelopeFace, face: FlatFace) -> bool:
    if dot(face.normal, one.face.normal) > _OPPOSITE or abs(one.face.off(face.origin)) > _TOUCHING_MM:
        return False
    shared = _seen_on(one.face, face).intersection(one.outline)
    return bool(shared.area > min(_SCRAP_MM2, one.outline.area / 2))


def _remarks(model: Model, inside: int) -> Iterator[str]:
    yield "Every space of the model is taken as heated; leave out those that are not."
    yield "Members are not read: studs and joists at 400 mm and rafters at 600 mm are assumed."
    yield "Floors are proposed as surfaces too; leave out those that lie on a slab."
    if inside:
        yield f"{inside} doors and openings lie between two rooms and are left out."
    if any(len(one.triangles) > 200 for one in model.spaces):
        yield "Some spaces have many facets: rounded walls come as narrow flat faces."


def _unspoken(surfaces: Sequence[Surface], junctions: Sequence[Junction]) -> int:
    joined = {(end.surface, end.edge) for junction in junctions for end in (junction.a, junction.b)}
    return sum(
        (surface.id, edge) not in joined for surface in surfaces for edge in range(len(surface.outline_mm))
    )


def _decimal(value: float) -> Decimal:
    return Decimal(str(round(value, 4)))
