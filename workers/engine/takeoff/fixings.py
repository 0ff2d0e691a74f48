"""Staples, counted member by member.

The middle line of every member is clipped to the inside of the net region and to each piece that lies over it;
a clipped length L takes floor(L ÷ centres) + 1 staples. Where two pieces lap, both are stapled. Along the outline
and round openings stands a plate, an end stud or a trimmer, which is stapled by the same rule; a member whose
middle line lies on such an edge is that timber and is not counted again. Where an opening touches the outline
nothing is stapled. A clipped length under 1 mm takes none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isqrt

from api_schema.layout import SurfaceLayout
from api_schema.surface import Surface
from workers.engine.layout.frame import is_upright, lines_across, lines_along, turn
from workers.engine.takeoff.edges import rings_of
from workers.engine.takeoff.segments import (
    Corner,
    Edge,
    Exact,
    Stretch,
    divided,
    squared_length,
)


@dataclass(frozen=True, slots=True)
class _Window:
    """A piece as it lies over the members: x square to them, y along them."""

    x0: int
    x1: int
    y0: int
    y1: int


@dataclass(frozen=True, slots=True)
class _Frame:
    """Turns the surface's coordinates so that members run along y; `scale` units are one millimetre.

    Upright frames keep whole millimetres and are exact. At an angle, corners are rounded to the nearest
    micrometre; pieces are then taken 1 mm larger all round, since the layout rounds them to whole millimetres,
    and a member within 1 mm of an edge is that edge's timber, since the survey rounds corners likewise.
    """

    direction: str
    across: bool
    scale: int

    @property
    def spare(self) -> int:
        return 0 if self.scale == 1 else self.scale

    def corner(self, corner: Corner) -> Corner:
        u, v = corner
        if self.direction == "across":
            s, t = u, v
        elif self.direction == "up":
            s, t = v, u
        else:
            cos, sin = turn(self.direction)
            s, t = round((u * cos + v * sin) * self.scale), round((v * cos - u * sin) * self.scale)
        return (s, t) if self.across else (t, s)

    def window(self, along_strip: tuple[int, int], over_strip: tuple[int, int]) -> _Window:
        spare = self.spare
        (s0, s1), (t0, t1) = (
            (low * self.scale - spare, high * self.scale + spare) for low, high in (along_strip, over_strip)
        )
        return _Window(s0, s1, t0, t1) if self.across else _Window(t0, t1, s0, s1)


def staples(surface: Surface, layout: SurfaceLayout, centres_mm: int) -> int:
    """Staples of one surface at the given centres (mm)."""
    frame = _Frame(
        layout.direction, layout.run == "across_members", 1 if is_upright(layout.direction) else 1000
    )
    windows = [
        frame.window((piece.from_mm, piece.to_mm), (strip.from_mm, strip.to_mm))
        for strip in layout.strips
        for piece in strip.pieces
    ]
    spacing = centres_mm * frame.scale
    return _on_members(surface, frame, windows, spacing) + _on_edges(surface, frame, windows, spacing)


def _on_members(surface: Surface, frame: _Frame, windows: Sequence[_Window], spacing: int) -> int:
    edges = [
        (frame.corner(start), frame.corner(end)) for ring in rings_of(surface).rings for start, end in ring
    ]
    xs = [x for edge in edges for x, _ in edge]
    lines = lines_across(surface.members) if frame.across else lines_along(surface.members)
    counted = 0
    for middle in lines.between(min(xs) // frame.scale, max(xs) // frame.scale):
        x = middle * frame.scale
        for low, high in inside(edges, x, frame.spare):
            for window in windows:
                if window.x0 <= x <= window.x1:
                    length = min(high, window.y1) - max(low, window.y0)
                    if length >= frame.scale:
                        counted += int(length // spacing) + 1
    return counted


def inside(edges: Sequence[Edge], x: int, spare: int = 0) -> list[Stretch]:
    """Where the line at `x` runs inside the region of these edges (holes included), as stretches of y.

    A point counts when the region lies on both its sides: where the line just left of `x` and the line just
    right of it, `spare` away, are both inside. So a line along an edge of the region is not inside it.
    """
    before, after = x - spare, x + spare
    left = _crossings([edge for edge in edges if _leftmost(edge) < before <= _rightmost(edge)], before)
    right = _crossings([edge for edge in edges if _leftmost(edge) <= after < _rightmost(edge)], after)
    return [(max(a0, b0), min(a1, b1)) for a0, a1 in left for b0, b1 in right if max(a0, b0) < min(a1, b1)]


def _leftmost(edge: Edge) -> int:
    return min(edge[0][0], edge[1][0])


def _rightmost(edge: Edge) -> int:
    return max(edge[0][0], edge[1][0])


def _crossings(edges: Sequence[Edge], x: int) -> list[Stretch]:
    met = sorted(
        ay if ay == by else ay + divided((x - ax) * (by - ay), bx - ax) for (ax, ay), (bx, by) in edges
    )
    pairs: list[Stretch] = []
    for low, high in zip(met[::2], met[1::2], strict=True):  # even-odd: in at one edge, out at the next
        if pairs and pairs[-1][1] == low:
            pairs[-1] = (pairs[-1][0], high)
        elif low < high:
            pairs.append((low, high))
    return pairs


def _on_edges(surface: Surface, frame: _Frame, windows: Sequence[_Window], spacing: int) -> int:
    rings = rings_of(surface)
    counted = 0
    for number, ring in enumerate(rings.rings):
        for edge in ring:
            turned = (frame.corner(edge[0]), frame.corner(edge[1]))
            size = squared_length(turned)
            for stretch in rings.bare(number, edge):
                for window in windows:
                    part = _clipped(turned, stretch, window)
                    squared = part * part * size  # of the clipped length, exact
                    if squared >= frame.scale * frame.scale:
                        counted += isqrt(int(squared // (spacing * spacing))) + 1
    return counted


def _clipped(edge: Edge, stretch: Stretch, window: _Window) -> Exact:
    """The part of an edge, from 0 to 1, that lies in the stretch and in the window."""
    (ax, ay), (bx, by) = edge
    start, end = stretch
    for origin, step, low, high in ((ax, bx - ax, window.x0, window.x1), (ay, by - ay, window.y0, window.y1)):
        if step == 0:
            if not low <= origin <= high:
                return 0
            continue
        entry, leave = sorted((divided(low - origin, step), divided(high - origin, step)))
        start, end = max(start, entry), min(end, leave)
    return max(end - start, 0)
