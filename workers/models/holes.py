"""Puts windows, doors and openings of a model on the faces they pierce."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry import Polygon

from api_schema.model_reading import Unplaced
from api_schema.surface import Opening, OpeningKind, Outline
from workers.models.bodies import Body
from workers.models.flat_faces import EnvelopeFace, FlatFace, Shape

_OPENING_REACH_MM = 700.0  # as thick as a wall can be
_MOST_OF_IT = 0.8
_SMALLEST_MM2 = 10_000.0


def place_openings(
    bodies: Sequence[Body], named: Sequence[tuple[str, EnvelopeFace]], inner: Sequence[tuple[FlatFace, Shape]]
) -> tuple[dict[str, list[Opening]], list[Unplaced], int]:
    """Openings by surface, those that lie in none, and how many lie between two rooms."""
    placed: dict[str, list[Opening]] = {}
    lost: list[Unplaced] = []
    inside = 0
    for number, body in enumerate(bodies, start=1):
        best: tuple[float, str, Polygon] | None = None
        for name, one in named:
            outline = _hole_in(one.face, one.outline, body)
            if outline is not None and (best is None or outline.area > best[0] + 1):
                best = (outline.area, name, outline)
        between = max(
            (shape.area for face, behind in inner if (shape := _hole_in(face, behind, body)) is not None),
            default=0.0,
        )
        if best is None or between > best[0]:
            if between > 0:
                inside += 1
            else:
                lost.append(lost_body(body, "lies in no outer face of a space; measure it on site."))
            continue
        _, name, outline = best
        one = next(each for label, each in named if label == name)
        u, v, _, _ = one.outline.bounds
        corners: Outline = tuple((round(x - u), round(y - v)) for x, y in outline.exterior.coords[:-1])
        others = placed.setdefault(name, [])
        if body.kind == "opening":
            lost.append(
                lost_body(body, f"is an opening in {name} that no window or door fills; say what it is.")
            )
        elif any(Polygon(other.outline_mm).intersection(Polygon(corners)).area > 1 for other in others):
            lost.append(lost_body(body, f"overlaps another opening in {name}; measure it on site."))
        else:
            kind: OpeningKind = "door" if body.kind == "door" else "window"
            if one.face.kind in ("slope", "ceiling") and kind == "window":
                kind = "rooflight"
            others.append(Opening(f"{body.kind[0]}{number}", kind, corners))
    return placed, lost, inside


def lost_body(body: Body, reason: str) -> Unplaced:
    """A thing of the model that the survey does not hold, and why."""
    return Unplaced(kind=body.kind, name=body.name, reason=reason, model_id=body.model_id)


def _hole_in(face: FlatFace, region: Shape, body: Body) -> Polygon | None:
    """Where a window, door or opening pierces a face: its box on the face, cut to the face; None where it does not."""
    offs = [face.off(p) for p in body.points]
    if (
        min(offs) > _OPENING_REACH_MM / 2
        or max(offs) < -_OPENING_REACH_MM / 2
        or max(offs) - min(offs) > _OPENING_REACH_MM
    ):
        return None
    flat = [face.place(p) for p in body.points]
    us, vs = [u for u, _ in flat], [v for _, v in flat]
    whole = shapely.geometry.box(min(us), min(vs), max(us), max(vs))
    if whole.area < _SMALLEST_MM2 or region.is_empty:
        return None
    # Only what the face really has of it counts, and it must have most: a window edge-on to a side wall has little.
    seen = whole.intersection(region)
    if not isinstance(seen, Polygon) or seen.area < _MOST_OF_IT * whole.area:
        return None
    return shapely.geometry.polygon.orient(seen)
