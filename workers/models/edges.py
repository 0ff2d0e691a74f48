"""Finds which edges of the proposed surfaces lie on each other in space."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from api_schema.job import EdgeReference, Junction
from api_schema.surface import Surface
from workers.models.bodies import Vector, cross, dot, minus
from workers.models.flat_faces import EnvelopeFace, FlatFace

_NEAR_MM = 5.0


def join_edges(
    surfaces: Sequence[Surface], places: Sequence[EnvelopeFace]
) -> tuple[list[Surface], list[Junction]]:
    """The surfaces with a corner wherever a neighbour's corner lies on one of their edges, and their junctions.

    Only surfaces of one space meet: between two spaces there is a wall.
    """
    rings = [[one.face.space(u, v) for u, v in one.outline.exterior.coords[:-1]] for one in places]
    rings = [
        _with_corners(
            ring,
            [p for j, other in enumerate(rings) if j != i and places[j].space == one.space for p in other],
        )
        for i, (ring, one) in enumerate(zip(rings, places, strict=True))
    ]
    rings = [_from_lower_left(ring, one.face) for ring, one in zip(rings, places, strict=True)]
    shaped = []
    for surface, one, ring in zip(surfaces, places, rings, strict=True):
        u0, v0, _, _ = one.outline.bounds
        flat = [one.face.place(p) for p in ring]
        shaped.append(replace(surface, outline_mm=tuple((round(u - u0), round(v - v0)) for u, v in flat)))
    waiting: dict[int, list[tuple[int, int, Vector, Vector]]] = {}
    junctions = []
    for i, (ring, one) in enumerate(zip(rings, places, strict=True)):
        for edge, a in enumerate(ring):
            b = ring[(edge + 1) % len(ring)]
            others = waiting.setdefault(one.space, [])
            match = next(
                (found for found in others if found[0] != i and _near(a, found[3]) and _near(b, found[2])),
                None,
            )
            if match is None:
                others.append((i, edge, a, b))
                continue
            others.remove(match)
            j, other_edge, _, _ = match
            junctions.append(
                Junction(
                    EdgeReference(shaped[j].id, other_edge), EdgeReference(shaped[i].id, edge),
                    _angle(places[j].face, one.face, a, b),
                )
            )  # fmt: skip
    return shaped, junctions


def _from_lower_left(ring: list[Vector], face: FlatFace) -> list[Vector]:
    flat = [face.place(p) for p in ring]
    first = min(range(len(ring)), key=lambda i: (round(flat[i][1]), round(flat[i][0])))
    return ring[first:] + ring[:first]


def _near(a: Vector, b: Vector) -> bool:
    return math.dist(a, b) < _NEAR_MM


def _with_corners(ring: list[Vector], others: Sequence[Vector]) -> list[Vector]:
    full: list[Vector] = []
    for i, a in enumerate(ring):
        b = ring[(i + 1) % len(ring)]
        full.append(a)
        along = minus(b, a)
        length = math.sqrt(dot(along, along))
        found: list[tuple[float, Vector]] = []
        for p in others:
            share = dot(minus(p, a), along) / length if length else 0.0
            off = cross(minus(p, a), along)
            if _NEAR_MM < share < length - _NEAR_MM and math.sqrt(dot(off, off)) / length < 1.0:
                found.append((share, p))
        last = 0.0
        for share, p in sorted(found):
            if share > last + _NEAR_MM:
                full.append(p)
                last = share
    return full


def _angle(one: FlatFace, other: FlatFace, a: Vector, b: Vector) -> Decimal:
    """Angle through the room; the edge a → b runs counter-clockwise round `other` seen from inside."""
    bend = math.degrees(math.acos(max(-1.0, min(1.0, dot(one.normal, other.normal)))))
    juts_in = dot(cross(one.normal, other.normal), minus(b, a)) < 0
    return Decimal(str(round(180 + bend if juts_in else 180 - bend, 1)))
