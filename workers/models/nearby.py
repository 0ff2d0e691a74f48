"""Finds the faces near a face without trying all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from workers.models.flat_faces import FlatFace


class Nearby:
    """Faces that can be asked for by place in plan; answers come in the order the faces were given."""

    def __init__(self, faces: Sequence[tuple[int, FlatFace]]) -> None:
        self._faces = list(faces)
        self._tree = shapely.STRtree([_plan_box(face, 0.0) for _, face in self._faces])

    def near(self, face: FlatFace, reach_mm: float) -> Iterator[tuple[int, FlatFace]]:
        """(owner, face) of every face whose plan box lies within reach."""
        for index in sorted(int(hit) for hit in self._tree.query(_plan_box(face, reach_mm))):
            yield self._faces[index]


def _plan_box(face: FlatFace, reach_mm: float) -> shapely.Polygon:
    corners = [
        face.space(u, v) for part in shapely.get_parts(face.shape) for u, v in part.exterior.coords
    ] or [face.origin]
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return shapely.box(min(xs) - reach_mm, min(ys) - reach_mm, max(xs) + reach_mm, max(ys) + reach_mm)
