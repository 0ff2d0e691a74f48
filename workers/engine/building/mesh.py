"""The closed mesh of the heated space, for checks and drawings."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from api_schema.mesh import BuildingMesh, MeshFace, SurfacePlane

Vertex = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Mesh:
    """Flat faces over shared corners, counter-clockwise seen from outside; millimetres, z up.

    `faces[i]` lists indices into `corners_mm`; `surfaces[i]` names the lined surface the face belongs to, or is
    None where it carries no membrane. Corners are rounded to float only here: which corners faces share was
    settled in exact arithmetic.
    """

    corners_mm: tuple[Vertex, ...]
    faces: tuple[tuple[int, ...], ...]
    surfaces: tuple[str | None, ...]
    planes: tuple[SurfacePlane, ...] = ()

    def record(self) -> BuildingMesh:
        """The mesh as it travels: corners to the whole millimetre."""
        return BuildingMesh(
            tuple((round(x), round(y), round(z)) for x, y, z in self.corners_mm),
            tuple(MeshFace(face, name) for face, name in zip(self.faces, self.surfaces, strict=True)),
            self.planes,
        )

    def unmatched_edges(self) -> int:
        """How many directed edges have no opposite; 0 where the mesh is closed."""
        count: Counter[tuple[int, int]] = Counter()
        for face in self.faces:
            for i in range(len(face)):
                count[face[i - 1], face[i]] += 1
        return sum(max(0, number - count[b, a]) for (a, b), number in count.items())

    def volume_m3(self) -> float:
        """Enclosed volume by the divergence theorem: a sixth of the sum of a · (b × c) over fans of triangles."""
        total = []
        for face in self.faces:
            a = self.corners_mm[face[0]]
            for i in range(1, len(face) - 1):
                b, c = self.corners_mm[face[i]], self.corners_mm[face[i + 1]]
                total.append(_dot(a, _cross(b, c)))
        return math.fsum(total) / 6e9

    def face_area_m2(self, index: int) -> float:
        """Area of one face: half the length of its vector area."""
        normal = self.vector_area_mm2(index)
        return math.sqrt(_dot(normal, normal)) / 1e6

    def vector_area_mm2(self, index: int) -> Vertex:
        """Area of one face as a vector pointing outwards."""
        face = self.faces[index]
        a = self.corners_mm[face[0]]
        parts = [
            _cross(_minus(self.corners_mm[face[i]], a), _minus(self.corners_mm[face[i + 1]], a))
            for i in range(1, len(face) - 1)
        ]
        x, y, z = (math.fsum(part[axis] for part in parts) / 2 for axis in range(3))
        return (x, y, z)

    def area_m2(self) -> float:
        """Area of all faces: the envelope area of ISO 9972, internal dimensions."""
        return math.fsum(self.face_area_m2(index) for index in range(len(self.faces)))


def _minus(a: Vertex, b: Vertex) -> Vertex:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _cross(a: Vertex, b: Vertex) -> Vertex:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _dot(a: Vertex, b: Vertex) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
