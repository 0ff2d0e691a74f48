"""Hip roofs from footprints, judged by other means than the moving front that finds them."""

import random
from fractions import Fraction

import pytest
from shapely.geometry import MultiPoint, Polygon

from api_schema.problem import SurveyFaults
from tests.engine.building.buildings import any_footprint, building, orthogonal_footprint, rectangle, storey
from workers.engine.building import derive
from workers.engine.building.covers import height
from workers.engine.building.planar import Point, area_twice, point_inside
from workers.engine.building.wavefront import Eave, Face, RoofUnsolved, roof_over

FOOTPRINTS = 400
FLAT = Fraction(0)


def eaves_of(corners: list[list[int]], runs: list[Fraction]) -> list[Eave]:
    points = [(Fraction(x), Fraction(y)) for x, y in corners]
    return [Eave(points[i], points[(i + 1) % len(points)], ((FLAT, runs[i]),)) for i in range(len(points))]


def nearest_side(p: Point, corners: list[list[int]]) -> Fraction:
    """Distance to the outline where a square is the unit circle: the height of a 45° hip over right angles.

    A front that keeps right-angled corners is the outline shrunk by a square, so this needs no front at all.
    """
    scale = p[0].denominator * p[1].denominator
    x, y = int(p[0] * scale), int(p[1] * scale)
    nearest = None
    for i in range(len(corners)):
        (ax, ay), (bx, by) = corners[i - 1], corners[i]
        dx = max(scale * min(ax, bx) - x, x - scale * max(ax, bx), 0)
        dy = max(scale * min(ay, by) - y, y - scale * max(ay, by), 0)
        nearest = max(dx, dy) if nearest is None else min(nearest, max(dx, dy))
    return Fraction(nearest or 0, scale)


def test_four_hundred_orthogonal_footprints_get_a_correct_hip_roof_or_a_refusal() -> None:
    chance = random.Random(1)
    tried = refused = 0
    while tried < FOOTPRINTS:
        corners = orthogonal_footprint(chance, chance.choice([50, 500, 1000]), 6)
        if corners is None:
            continue
        tried += 1
        try:
            faces = roof_over(eaves_of(corners, [Fraction(1)] * len(corners)), FLAT, None)
        except RoofUnsolved:
            refused += 1
            continue
        assert sorted(face.eave for face in faces if face.eave is not None) == list(range(len(corners)))
        assert sum(area_twice(loop) for face in faces for loop in face.loops) == 2 * Fraction(
            Polygon(corners).area
        )
        for face in faces:
            (loop,) = face.loops
            for p in (*loop, point_inside(loop)):
                assert height(face.plane, p) == nearest_side(p, corners), corners
    print(f"{tried} footprints, {refused} refused")
    assert refused <= FOOTPRINTS // 100


def test_a_convex_footprint_with_different_pitches_gets_the_lowest_of_its_planes() -> None:
    chance = random.Random(2)
    for _ in range(40):
        cloud = MultiPoint([(chance.randint(0, 9000), chance.randint(0, 9000)) for _ in range(9)])
        corners = [[round(x), round(y)] for x, y in cloud.convex_hull.exterior.coords[:-1]][::-1]
        corners = corners if Polygon(corners).exterior.is_ccw else corners[::-1]
        runs = [Fraction(chance.randint(5, 40), 10) for _ in corners]
        faces = roof_over(eaves_of(corners, runs), FLAT, None)
        planes = plane_of_each(faces)
        for face in faces:
            for p in face.loops[0]:
                lowest = min(height(plane, p) for plane in planes.values())
                assert height(face.plane, p) == lowest


def plane_of_each(faces: tuple[Face, ...]) -> dict[int | None, tuple[Fraction, Fraction, Fraction]]:
    return {face.eave: face.plane for face in faces}


def test_a_skew_reentrant_footprint_encloses_what_its_shrinking_outline_sweeps() -> None:
    """Volume of a 45° hip = ∫ area of the outline moved inwards; shapely moves it in small steps."""
    chance = random.Random(3)
    for _ in range(25):
        corners = any_footprint(chance)
        roof = {"form": "hip", "pitch_deg": 45}
        survey = derive(building(storeys=[storey("a", corners, 0, roof=roof)]))
        step, ring, areas = 20, Polygon(corners), []
        while not ring.is_empty:
            areas.append(ring.area)
            ring = ring.buffer(-step, join_style="mitre", mitre_limit=1000)
        swept = step * (sum(areas) - areas[0] / 2) / 1e9
        assert float(survey.enclosed_m3) == pytest.approx(swept, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "corners"),
    [
        (
            "plus",
            [
                [4, 0],
                [8, 0],
                [8, 4],
                [12, 4],
                [12, 8],
                [8, 8],
                [8, 12],
                [4, 12],
                [4, 8],
                [0, 8],
                [0, 4],
                [4, 4],
            ],
        ),
        ("U", [[0, 0], [12, 0], [12, 10], [8, 10], [8, 4], [4, 4], [4, 10], [0, 10]]),
        (
            "H",
            [
                [0, 0],
                [4, 0],
                [4, 4],
                [8, 4],
                [8, 0],
                [12, 0],
                [12, 12],
                [8, 12],
                [8, 8],
                [4, 8],
                [4, 12],
                [0, 12],
            ],
        ),
        ("square", [[0, 0], [6, 0], [6, 6], [0, 6]]),
    ],
)
def test_fronts_that_meet_everywhere_at_once_part_cleanly(name: str, corners: list[list[int]]) -> None:
    metres = [[1000 * x, 1000 * y] for x, y in corners]
    faces = roof_over(eaves_of(metres, [Fraction(1)] * len(metres)), FLAT, None)
    assert len(faces) == len(metres), name
    for face in faces:
        assert all(height(face.plane, p) == nearest_side(p, metres) for p in face.loops[0])


def test_a_courtyard_gets_slopes_on_all_its_sides() -> None:
    court = rectangle(4000, 3000, 4000, 3500)
    roof = {"form": "hip", "pitch_deg": 45}
    survey = derive(
        building(storeys=[storey("a", rectangle(12000, 10000), 2400, courtyards_mm=[court], roof=roof)])
    )
    slopes = [surface.id for surface in survey.surfaces if surface.kind == "slope"]
    assert len(slopes) == 8


def test_slopes_in_one_line_that_differ_are_refused_with_a_way_out() -> None:
    corners = [[0, 0], [5000, 0], [9000, 0], [9000, 6000], [0, 6000]]
    roof = {"form": "hip", "pitch_deg": 45, "slopes": [{"wall": "wall-1", "pitch_deg": 30}]}
    with pytest.raises(SurveyFaults, match=r"roof\.lines") as refusal:
        derive(building(storeys=[storey("a", corners, 2400, roof=roof)]))
    assert refusal.value.faults[0].pointer == "/storeys/0/roof"
