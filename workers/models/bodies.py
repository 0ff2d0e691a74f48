"""What is taken out of a model: solids of triangles with their names, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Vector = tuple[float, float, float]
BodyKind = Literal["space", "wall", "roof", "slab", "window", "door", "opening"]


@dataclass(frozen=True, slots=True)
class Body:
    """One thing of the model. `external` is what the model says of it, None where it says nothing."""

    kind: BodyKind
    name: str
    model_id: str
    points: tuple[Vector, ...]
    triangles: tuple[tuple[int, int, int], ...]
    external: bool | None = None


@dataclass(frozen=True, slots=True)
class Missing:
    """A thing of the model that has no usable shape."""

    kind: str
    name: str
    model_id: str
    reason: str


@dataclass(frozen=True, slots=True)
class Model:
    """Everything used of a model file."""

    schema: str
    spaces: tuple[Body, ...]
    elements: tuple[Body, ...]  # walls, roofs, slabs
    openings: tuple[Body, ...]  # windows, doors, and openings nothing fills
    missing: tuple[Missing, ...]
    services: int  # pipes, ducts and cables counted, not read


def minus(a: Vector, b: Vector) -> Vector:
    """a − b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def cross(a: Vector, b: Vector) -> Vector:
    """a × b."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a: Vector, b: Vector) -> float:
    """a · b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
