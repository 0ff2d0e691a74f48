"""Random footprints and buildings, and short ways to describe them."""

from __future__ import annotations

import math
import random
from typing import Any

from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from api_schema.building import Building
from api_schema.shape import load

Corners = list[list[int]]
COMPASS = ["south", "east", "north", "west"]  # the walls of `rectangle` in order


def building(**parts: Any) -> Building:
    """A building from JSON."""
    return load(Building, parts)


def storey(name: str, footprint: Corners, height: int, **more: Any) -> dict[str, Any]:
    """A storey as JSON; four walls are named by the compass."""
    if len(footprint) == 4:
        more.setdefault("wall_names", COMPASS)
    return {"id": name, "footprint_mm": footprint, "height_mm": height, **more}


def rectangle(width: int, depth: int, x: int = 0, y: int = 0) -> Corners:
    """A rectangular footprint."""
    return [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]]


def orthogonal_footprint(chance: random.Random, grid: int, most: int) -> Corners | None:
    """The outline of a union of boxes on a grid; None where it falls apart, touches itself or has a hole."""
    boxes = []
    for _ in range(chance.randint(1, most)):
        x, y = chance.randint(0, 16) * grid, chance.randint(0, 16) * grid
        boxes.append(box(x, y, x + chance.randint(2, 14) * grid, y + chance.randint(2, 14) * grid))
    shape = unary_union(boxes)
    if shape.geom_type != "Polygon" or shape.interiors:
        return None
    return _corners(shape)


def any_footprint(chance: random.Random) -> Corners:
    """A star-shaped polygon of up to 9 corners, re-entrant ones too, whole millimetres."""
    while True:
        turns = sorted(chance.uniform(0, 2 * math.pi) for _ in range(chance.randint(3, 9)))
        reach = [9000 * chance.uniform(0.35, 1) for _ in turns]
        shape = Polygon(
            [(round(r * math.cos(t)), round(r * math.sin(t))) for r, t in zip(reach, turns, strict=True)]
        )
        if shape.is_valid and shape.area > 4e6:
            return _corners(shape)


def _corners(shape: Polygon) -> Corners:
    """Whole-millimetre corners counter-clockwise, those on a straight line left out."""
    ring = [[round(x), round(y)] for x, y in shape.exterior.coords[:-1]]
    kept = []
    for i, (x, y) in enumerate(ring):
        (ax, ay), (bx, by) = ring[i - 1], ring[(i + 1) % len(ring)]
        if (x - ax) * (by - ay) != (y - ay) * (bx - ax):
            kept.append([x, y])
    return kept if Polygon(kept).exterior.is_ccw else kept[::-1]


def random_building(chance: random.Random) -> dict[str, Any]:
    """Storeys on one footprint with a roof, and often a dormer, an internal wall or an extension."""
    shape = chance.random()
    if shape < 0.4:
        footprint = rectangle(chance.randint(4000, 15000), chance.randint(4000, 12000))
    elif shape < 0.7:
        footprint = orthogonal_footprint(chance, 500, 3) or rectangle(9000, 7000)
    else:
        footprint = any_footprint(chance)
    straight = len(footprint) == 4 and shape < 0.4
    names = COMPASS if straight else [f"w{i}" for i in range(len(footprint))]
    storeys = [
        storey(
            f"s{k}", footprint, chance.randint(2200, 3000), floor_zone_mm=chance.choice([0, 200, 300]),
            floor_zone=chance.choice(["passes", "interrupted"]),
        )
        for k in range(chance.choice([0, 1, 1, 2]))
    ]  # fmt: skip
    if straight and storeys and chance.random() < 0.4:
        footprint = _set_off(chance, footprint)
    top = _top(chance, footprint, names, straight)
    storeys.append(top)
    if straight and chance.random() < 0.3:
        east, depth = footprint[1][0], footprint[2][1]
        beside = rectangle(chance.randint(2000, 4000), depth // 2, east, depth // 4)
        storeys.append(
            storey("ext", beside, chance.randint(1500, 2100), floor_at_mm=chance.choice([0, -300]))
        )
        if chance.random() < 0.5:
            storeys[-1]["roof"] = {
                "form": "mono_pitch",
                "pitch_deg": chance.randint(5, 20),
                "low_wall": "east",
            }
    return {"storeys": storeys}


def _set_off(chance: random.Random, footprint: Corners) -> Corners:
    """A rectangle that stands back from some walls of another and overhangs others."""
    (x, y), (right, back) = footprint[0], footprint[2]
    west, south, east, north = (chance.choice([-600, 0, 0, 700, 1300]) for _ in range(4))
    return rectangle(right - x - west - east, back - y - south - north, x + west, y + south)


def _top(chance: random.Random, footprint: Corners, names: list[str], straight: bool) -> dict[str, Any]:
    forms = ["flat", "hip"] + (["mono_pitch", "gable", "half_hip", "gambrel"] if straight else [])
    form = chance.choice(forms)
    height = chance.randint(2200 if form == "flat" else 0, 2600)
    roof: dict[str, Any] = {"form": form, "pitch_deg": chance.randint(15, 60)}
    if form == "mono_pitch":
        roof["low_wall"] = chance.choice(names)
    if form == "half_hip":
        roof["half_hip_mm"] = height + chance.randint(300, 1500)
    if form == "gambrel":
        roof |= {"break_mm": height + chance.randint(300, 1500), "upper_pitch_deg": chance.randint(10, 40)}
    if chance.random() < 0.4 and form != "flat":
        roof["collar_mm"] = height + chance.randint(1600, 2600)
    if form == "hip" and straight and chance.random() < 0.5:
        other = {"wall": chance.choice(names), "pitch_deg": chance.randint(15, 70)}
        roof["slopes"] = [other | {"from_mm": height + chance.choice([0, 0, 500])}]
    top = storey("top", footprint, height, wall_names=names, roof=roof)
    if form in ("gable", "hip") and straight and chance.random() < 0.6:
        roof |= {"gables": ["east", "west"]} if form == "gable" else {}
        top["dormers"] = [
            {
                "id": "d", "wall": chance.choice(["south", "north"]), "from_left_mm": chance.randint(1200, 1600),
                "width_mm": chance.randint(600, 1200), "height_mm": height + chance.randint(400, 700),
                "set_back_mm": chance.choice([0, 0, 100]), "roof": chance.choice(["flat", "gable", "mono_pitch"]),
                "pitch_deg": chance.randint(3, 10),
            }
        ]  # fmt: skip
    if form in ("flat", "hip") and straight and "dormers" not in top and chance.random() < 0.3:
        (x, y), (right, back) = footprint[0], footprint[2]
        top["courtyards_mm"] = [
            rectangle((right - x) // 3, (back - y) // 3, x + (right - x) // 4, y + (back - y) // 3)
        ]
    if chance.random() < 0.5:
        middle = sum(x for x, _ in footprint) // len(footprint)
        ys = [y for _, y in footprint]
        end = [middle + chance.choice([0, 0, 400]), max(ys)]
        top["partitions"] = [
            {
                "id": "p",
                "from_mm": [middle, min(ys)],
                "to_mm": end,
                "layer": chance.choice(["interrupted", "passes"]),
            }
        ]
    return top
