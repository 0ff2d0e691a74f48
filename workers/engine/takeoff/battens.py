"""Battens over the membrane, in metres: what holds the sheet against insulation that is blown in behind it.

Across the members: lines square to them at the given centres, the first half of the centres from where the surface
begins, so that no part of the sheet is farther than half the centres from a batten. Along the members: the middle
line of every one. Both are clipped to the outline less the openings; a line along an edge is that edge's own timber.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from api_schema.standard import BattenPlace, BattenRun
from api_schema.surface import Surface, SurfaceKind
from workers.engine.layout.frame import is_upright, lines_along, turn
from workers.engine.takeoff.edges import rings_of
from workers.engine.takeoff.fixings import inside
from workers.engine.takeoff.segments import Corner, Edge

_KINDS: dict[BattenPlace, frozenset[SurfaceKind]] = {
    "none": frozenset(),
    "slopes_and_ceilings": frozenset({"slope", "ceiling"}),
    "everywhere": frozenset({"wall", "slope", "ceiling"}),
}
_FINE = 1000  # micrometres in a millimetre, for members at an angle


def battens(surface: Surface, where: BattenPlace, run: BattenRun, centres_mm: int) -> Decimal:
    """Millimetres of batten on one surface; none where the standard puts none on its kind."""
    if surface.kind not in _KINDS[where]:
        return Decimal(0)
    scale = 1 if is_upright(surface.members.direction) else _FINE
    across = run == "across_members"
    edges = [
        (_turned(start, surface, scale, across=across), _turned(end, surface, scale, across=across))
        for ring in rings_of(surface).rings
        for start, end in ring
    ]
    xs = [x for edge in edges for x, _ in edge]
    low, high = min(xs), max(xs)
    lines: Iterable[int]
    if across:
        spacing = centres_mm * scale
        lines = range(low + spacing // 2, high, spacing)
    else:
        middles = lines_along(surface.members).between(-(-low // scale), high // scale)
        lines = (middle * scale for middle in middles)
    return _inside_all(edges, lines) / scale


def _inside_all(edges: list[Edge], lines: Iterable[int]) -> Decimal:
    found = Decimal(0)
    for line in lines:
        for low, high in inside(edges, line):
            length = high - low
            found += Decimal(length.numerator) / length.denominator
    return found


def _turned(corner: Corner, surface: Surface, scale: int, *, across: bool) -> Corner:
    """The corner with the battens' own direction as its second coordinate."""
    u, v = corner
    direction = surface.members.direction
    if direction == "across":
        along, beside = u, v
    elif direction == "up":
        along, beside = v, u
    else:
        cos, sin = turn(direction)
        along, beside = round((u * cos + v * sin) * scale), round((v * cos - u * sin) * scale)
    return (along, beside) if across else (beside, along)
