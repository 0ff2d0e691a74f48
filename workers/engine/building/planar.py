"""Exact geometry of the plan: points are pairs of `Fraction`, so nothing is ever nearly equal.

`arrange` cuts segments wherever they meet and returns the cells between them; `untangle` does the same for the
boundary of a region that touches itself, letting opposite edges cancel.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cmp_to_key
from math import isqrt

Point = tuple[Fraction, Fraction]
Loop = tuple[Point, ...]
Tag = Hashable
Segment = tuple[Point, Point, Tag]

_Edges = dict[tuple[Point, Point], dict[Tag, None]]  # a dict of tags keeps their order
_ROOT_SCALE = 10**15


def exact(corner: Sequence[int]) -> Point:
    """A plan point of whole millimetres."""
    return (Fraction(corner[0]), Fraction(corner[1]))


def minus(a: Point, b: Point) -> Point:
    """a − b."""
    return (a[0] - b[0], a[1] - b[1])


def cross(a: Point, b: Point) -> Fraction:
    """z of a × b: positive where b lies to the left of a."""
    return a[0] * b[1] - a[1] * b[0]


def dot(a: Point, b: Point) -> Fraction:
    """a · b."""
    return a[0] * b[0] + a[1] * b[1]


def side(a: Point, b: Point, p: Point) -> Fraction:
    """Positive where p lies to the left of the line from a to b, zero on it."""
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def area_twice(loop: Sequence[Point]) -> Fraction:
    """Twice the signed area, positive counter-clockwise."""
    return sum((cross(loop[i - 1], loop[i]) for i in range(len(loop))), Fraction(0))


def root(square: Fraction) -> Fraction:
    """√square: exact where it is rational, else to 15 decimals, the same for the same argument."""
    top, bottom = isqrt(square.numerator), isqrt(square.denominator)
    if top * top == square.numerator and bottom * bottom == square.denominator:
        return Fraction(top, bottom)
    scaled = square.numerator * _ROOT_SCALE * _ROOT_SCALE // square.denominator
    return Fraction(isqrt(scaled), _ROOT_SCALE)


def between(a: Point, b: Point, p: Point) -> bool:
    """Is p, known to lie on the line a–b, strictly between them?"""
    along = minus(b, a)
    return 0 < dot(minus(p, a), along) < dot(along, along)


def inside(loops: Iterable[Sequence[Point]], p: Point) -> bool:
    """Is p inside the region bounded by `loops` (even-odd)? p must not lie on a boundary."""
    x, y = p
    odd = False
    for loop in loops:
        for i in range(len(loop)):
            a, b = loop[i - 1], loop[i]
            if (a[1] > y) != (b[1] > y):
                if a[0] > x and b[0] > x:
                    odd = not odd
                elif a[0] > x or b[0] > x:
                    odd ^= (side(a, b, p) > 0) == (b[1] > a[1])
    return odd


def point_inside(loop: Sequence[Point]) -> Point:
    """A point strictly inside a counter-clockwise loop, also one that touches itself or has slits."""
    heights = sorted({p[1] for p in loop})
    gap = max(range(len(heights) - 1), key=lambda i: (heights[i + 1] - heights[i], -i))
    y = (heights[gap] + heights[gap + 1]) / 2
    crossings = []
    for i in range(len(loop)):
        a, b = loop[i - 1], loop[i]
        if (a[1] > y) != (b[1] > y):
            crossings.append(a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
    crossings.sort()
    widest: tuple[Fraction, Fraction] | None = None
    for i in range(len(crossings) - 1):
        width = crossings[i + 1] - crossings[i]
        if i % 2 == 0 and width > 0 and (widest is None or width > widest[0]):
            widest = (width, (crossings[i] + crossings[i + 1]) / 2)
    if widest is None:
        raise ValueError("the loop encloses nothing")
    return (widest[1], y)


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The plan cut into cells."""

    cells: tuple[Loop, ...]  # counter-clockwise
    left_of: dict[tuple[Point, Point], int]  # directed edge -> the cell on its left; absent where outside
    tags: dict[tuple[Point, Point], tuple[Tag, ...]]  # edge, ends in order -> the tags of all segments on it

    def tags_of(self, a: Point, b: Point) -> tuple[Tag, ...]:
        """The tags of an edge, either way round."""
        return self.tags[(a, b) if a < b else (b, a)]


def arrange(segments: Sequence[Segment]) -> Arrangement:
    """Cut segments where they meet and find the cells.

    Parts that hang together with nothing are tied to the nearest part left and right of them, so that a cell
    never has a hole; edges that bound nothing are dropped.
    """
    edges = _cut(segments)
    bridges = _bridges(edges)
    if bridges:
        edges = _cut([(a, b, tag) for (a, b), tags in edges.items() for tag in tags] + bridges)
    _prune(edges)
    directed = [pair for a, b in edges for pair in ((a, b), (b, a))]
    cells: list[Loop] = []
    left_of: dict[tuple[Point, Point], int] = {}
    for loop in _trace(directed):
        if area_twice(loop) > 0:
            for i in range(len(loop)):
                left_of[loop[i - 1], loop[i]] = len(cells)
            cells.append(loop)
    return Arrangement(tuple(cells), left_of, {edge: tuple(tags) for edge, tags in edges.items()})


def untangle(segments: Sequence[Segment]) -> list[list[tuple[Tag, Point]]]:
    """Loops with the region on their left, from a boundary that may touch itself.

    Edges that run both ways cancel; at a point touched twice the loops part. Each loop is a list of
    (tag of the edge that starts here, point). Raises ValueError where edges cross.
    """
    count: dict[tuple[Point, Point], list[Tag]] = {}
    for a, b, tag in _pieces(segments, crossing_allowed=False):
        back = count.get((b, a))
        if back:
            back.pop()
        else:
            count.setdefault((a, b), []).append(tag)
    directed = [edge for edge, tags in count.items() if tags]
    if any(len(count[edge]) > 1 for edge in directed):
        raise ValueError("edges lie on each other")
    return [
        [(count[loop[i], loop[(i + 1) % len(loop)]][0], loop[i]) for i in range(len(loop))]
        for loop in _trace(directed)
    ]


def _cut(segments: Sequence[Segment]) -> _Edges:
    edges: _Edges = {}
    for a, b, tag in _pieces(segments, crossing_allowed=True):
        edges.setdefault((a, b) if a < b else (b, a), {})[tag] = None
    return edges


def _pieces(segments: Sequence[Segment], *, crossing_allowed: bool) -> Iterable[Segment]:
    """Every segment cut at every point another one touches or crosses it."""
    boxes = [_box(a, b) for a, b, _ in segments]
    order = sorted(range(len(segments)), key=lambda i: (boxes[i][0], i))
    cuts: list[set[Point]] = [set() for _ in segments]
    active: list[int] = []
    for i in order:
        x0, y0, _, y1 = boxes[i]
        active = [j for j in active if boxes[j][2] >= x0]
        for j in active:
            if boxes[j][1] <= y1 and boxes[j][3] >= y0:
                _meet(segments[i], segments[j], cuts[i], cuts[j], crossing_allowed)
        active.append(i)
    for (a, b, tag), points in zip(segments, cuts, strict=True):
        along = minus(b, a)
        chain = [a, *sorted(points, key=lambda p: dot(minus(p, a), along)), b]
        for start, end in itertools.pairwise(chain):
            if start != end:
                yield (start, end, tag)


def _box(a: Point, b: Point) -> tuple[float, float, float, float]:
    """Bounds in floats, widened by more than their rounding."""
    (ax, ay), (bx, by) = (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
    return (min(ax, bx) - 1e-6, min(ay, by) - 1e-6, max(ax, bx) + 1e-6, max(ay, by) + 1e-6)


def _meet(one: Segment, other: Segment, cuts_one: set[Point], cuts_other: set[Point], allowed: bool) -> None:
    a, b, _ = one
    c, d, _ = other
    if (a in (c, d) or b in (c, d)) and cross(minus(b, a), minus(d, c)) != 0:
        return  # they share an end, and nothing else
    sc, sd = side(a, b, c), side(a, b, d)
    if sc == 0 and sd == 0:
        cuts_one.update(p for p in (c, d) if between(a, b, p))
        cuts_other.update(p for p in (a, b) if between(c, d, p))
        return
    if (sc > 0 and sd > 0) or (sc < 0 and sd < 0):
        return
    sa, sb = side(c, d, a), side(c, d, b)
    if (sa > 0 and sb > 0) or (sa < 0 and sb < 0):
        return
    if sc == 0 or sd == 0 or sa == 0 or sb == 0:
        if sa != 0 and sb != 0:
            cuts_one.add(c if sc == 0 else d)
        elif sc != 0 and sd != 0:
            cuts_other.add(a if sa == 0 else b)
        return
    if not allowed:
        raise ValueError("edges cross")
    share = sc / (sc - sd)
    crossing = (c[0] + (d[0] - c[0]) * share, c[1] + (d[1] - c[1]) * share)
    cuts_one.add(crossing)
    cuts_other.add(crossing)


def _half(v: Point) -> int:
    return 0 if v[1] > 0 or (v[1] == 0 and v[0] > 0) else 1


def _by_angle(v: Point, w: Point) -> int:
    if _half(v) != _half(w):
        return _half(v) - _half(w)
    turn = cross(v, w)
    return -1 if turn > 0 else (1 if turn < 0 else 0)


def _turning(here: Point, ends: Sequence[Point]) -> list[Point]:
    """Points round `here`, counter-clockwise from the right."""

    def order(p: Point, q: Point) -> int:
        return _by_angle(minus(p, here), minus(q, here))

    return sorted(ends, key=cmp_to_key(order))


def _trace(directed: Sequence[tuple[Point, Point]]) -> list[Loop]:
    """The boundary loops of the faces left of directed edges."""
    leaving: dict[Point, list[Point]] = {}
    for a, b in directed:
        leaving.setdefault(a, []).append(b)
    leaving = {a: _turning(a, ends) for a, ends in leaving.items()}
    unused = dict.fromkeys(directed)
    loops: list[Loop] = []
    for first in directed:
        if first not in unused:
            continue
        loop: list[Point] = []
        edge = first
        while edge in unused:
            del unused[edge]
            loop.append(edge[0])
            edge = (edge[1], _next(edge, leaving[edge[1]]))
        if edge != first:
            raise ValueError("a boundary does not close")
        loops.append(tuple(loop))
    return loops


def _next(edge: tuple[Point, Point], ends: list[Point]) -> Point:
    """Of the edges leaving, the first one clockwise from the way we came: it bounds the face on the left."""
    here = edge[1]
    back = minus(edge[0], here)
    before = [p for p in ends if _by_angle(minus(p, here), back) < 0]
    return before[-1] if before else ends[-1]


def _prune(edges: _Edges) -> None:
    """Drop edges that lead nowhere."""
    degree: dict[Point, int] = {}
    for a, b in edges:
        degree[a] = degree.get(a, 0) + 1
        degree[b] = degree.get(b, 0) + 1
    loose = True
    while loose:
        loose = False
        for a, b in list(edges):
            if degree[a] == 1 or degree[b] == 1:
                del edges[a, b]
                degree[a] -= 1
                degree[b] -= 1
                loose = True


def _bridges(edges: _Edges) -> list[Segment]:
    """Level segments that tie each part of the drawing to its neighbours left and right."""
    parent: dict[Point, Point] = {}

    def top(p: Point) -> Point:
        while parent.setdefault(p, p) != p:
            parent[p] = parent[parent[p]]
            p = parent[p]
        return p

    for a, b in edges:
        parent[top(a)] = top(b)
    parts: dict[Point, list[Point]] = {}
    for p in list(parent):
        parts.setdefault(top(p), []).append(p)
    if len(parts) == 1:
        return []
    found: list[Segment] = []
    for members in parts.values():
        for tip, sign in ((min(members), -1), (max(members), 1)):
            hit = _nearest(edges, tip, sign)
            if hit is not None:
                found.append((tip, hit, "bridge"))
    return found


def _nearest(edges: _Edges, tip: Point, sign: int) -> Point | None:
    """The first point met going level from `tip`, to the left (−1) or the right (+1)."""
    best: Fraction | None = None
    x, y = tip
    for a, b in edges:
        low, high = (a, b) if a[1] <= b[1] else (b, a)
        if not low[1] <= y <= high[1]:
            continue
        if low[1] == high[1]:
            candidates = [a[0], b[0]]
        else:
            candidates = [low[0] + (high[0] - low[0]) * (y - low[1]) / (high[1] - low[1])]
        for found in candidates:
            if (found - x) * sign > 0 and (best is None or (found - best) * sign < 0):
                best = found
    return None if best is None else (best, y)
