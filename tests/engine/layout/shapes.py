"""Surfaces for the layout's tests: plain ones by hand, odd ones by dice."""

from __future__ import annotations

import random
from decimal import Decimal

from shapely.geometry import Polygon, box

from api_schema.job import Job
from api_schema.layout import SurfaceLayout
from api_schema.standard import Standard
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface
from workers.engine.costs import LayoutCosts, Membrane
from workers.engine.layout import lay_out

Corners = tuple[tuple[int, int], ...]

COSTS = LayoutCosts(
    membranes=(Membrane("membrane-1500", 1500, 50_000, Decimal("2.40")),),
    lap_cost_per_m=Decimal("1.60"),
    piece_cost=Decimal("1.20"),
    end_lap_cost_per_m=Decimal("1.60"),
)


def rectangle(width: int, height: int) -> Corners:
    return ((0, 0), (width, 0), (width, height), (0, height))


def box_at(left: int, low: int, right: int, high: int) -> Corners:
    return ((left, low), (right, low), (right, high), (left, high))


def surface(
    outline: Corners,
    openings: tuple[Corners, ...] = (),
    members: Members | None = None,
    finishes: dict[int, str] | None = None,
    penetrations: tuple[Penetration, ...] = (),
    run: str = "cheapest",
    name: str = "wall",
) -> Surface:
    return Surface(
        id=name,
        kind="wall",
        outline_mm=outline,
        members=members or Members("up", 400),
        edges=tuple(EdgeFinish(edge, finish) for edge, finish in (finishes or {}).items()),
        openings=tuple(Opening(f"o{i}", "window", corners) for i, corners in enumerate(openings)),
        penetrations=penetrations,
        run=run,
    )


def laid(one: Surface, standard: Standard | None = None, costs: LayoutCosts | None = None) -> SurfaceLayout:
    """The layout of a single surface."""
    layout = lay_out(Job("test", (one,)), standard or Standard(), costs or COSTS)
    return layout.surfaces[0]


def odd_outline(dice: random.Random, width: int, height: int) -> Corners:
    """A polygon of one of several families, corners in whole mm, valid and counter-clockwise."""
    cut = dice.randint(1, height - 1)
    across = dice.randint(1, width - 1)
    half = width // 2
    inset = dice.randint(1, max(1, width // 3))
    plain: dict[str, Corners] = {
        "rectangle": rectangle(width, height),
        "gable": ((0, 0), (width, 0), (width, cut), (across, height), (0, cut)),
        "trapezoid": ((0, 0), (width, 0), (max(across, half), height), (min(across, half), height)),
        "step": ((0, 0), (width, 0), (width, cut), (across, cut), (across, height), (0, height)),
        "valley": ((0, 0), (width, 0), (width, height), (across, cut), (0, height)),
        "hourglass": ((0, 0), (width, 0), (width - inset, cut), (width, height), (0, height), (inset, cut)),
    }
    family = dice.choice([*plain, "star"])
    if family in plain:
        return plain[family]
    while True:
        corners = [(dice.randint(0, width), dice.randint(0, height)) for _ in range(dice.randint(5, 9))]
        middle_x = sum(x for x, _ in corners) / len(corners)
        middle_y = sum(y for _, y in corners) / len(corners)
        corners.sort(key=lambda c: _angle(c[0] - middle_x, c[1] - middle_y))
        shape = Polygon(corners)
        if shape.is_valid and shape.area > width * height / 8 and len(set(corners)) == len(corners):
            return tuple(corners)


def _angle(x: float, y: float) -> float:
    """Rises with the angle round the middle."""
    size = abs(x) + abs(y) or 1.0
    return 1 - x / size if y >= 0 else 3 + x / size


def odd_openings(dice: random.Random, outline: Corners, most: int) -> tuple[Corners, ...]:
    """Up to `most` rectangles inside the outline that keep clear of one another."""
    shape = Polygon(outline)
    left, low, right, high = (int(bound) for bound in shape.bounds)
    found: list[Corners] = []
    for _ in range(most * 6):
        a, b = sorted(dice.sample(range(left, right + 1), 2))
        c, d = sorted(dice.sample(range(low, high + 1), 2))
        hole = box(a, c, b, d)
        apart = all(box(*corners[0], *corners[2]).distance(hole) > 0 for corners in found)
        if len(found) < most and shape.contains_properly(hole) and apart:
            found.append(box_at(a, c, b, d))
    return tuple(found)
