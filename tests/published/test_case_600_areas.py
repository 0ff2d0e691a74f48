"""P: ASHRAE 140 case 600: 8 × 6 × 2.7 m, two 3 × 2 m windows to the south.

Floor 48.0 m², volume 129.6 m³, walls north 21.6, east and west 16.2, south net 9.6 m²; envelope 171.6 m² (C).
The windows stand 0.5 m from the ends and 0.2 m above the floor (R); their place changes no area.
"""

from decimal import Decimal

import pytest

from api_schema.cut_list import CutList
from api_schema.defaults import default_price_book, default_standard
from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.surface import Members, Opening, Surface
from workers.engine.takeoff import measure

LENGTH_MM, WIDTH_MM, HEIGHT_MM = 8000, 6000, 2700


def rectangle(right, top, left=0, bottom=0):
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def plane(name, kind, width, height, *openings):
    return Surface(name, kind, rectangle(width, height), Members("up", 600), openings=openings)


WINDOWS = (
    Opening("w1", "window", rectangle(3500, 2200, 500, 200)),
    Opening("w2", "window", rectangle(7500, 2200, 4500, 200)),
)
CASE_600 = Job(
    "case-600",
    (
        plane("north", "wall", LENGTH_MM, HEIGHT_MM),
        plane("east", "wall", WIDTH_MM, HEIGHT_MM),
        plane("south", "wall", LENGTH_MM, HEIGHT_MM, *WINDOWS),
        plane("west", "wall", WIDTH_MM, HEIGHT_MM),
        plane("ceiling", "ceiling", LENGTH_MM, WIDTH_MM),
        plane("floor", "floor", LENGTH_MM, WIDTH_MM),
    ),
)


@pytest.fixture(name="take_off", scope="module")
def take_off_of_case_600():
    nothing = Decimal(0)
    return measure(
        CASE_600, Layout((), nothing, nothing, True), CutList((), 0, 0, nothing, nothing, True),
        default_standard(), default_price_book(),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("surface", "net_m2"),
    [
        ("north", "21.6"),
        ("east", "16.2"),
        ("south", "9.6"),
        ("west", "16.2"),
        ("ceiling", "48.0"),
        ("floor", "48.0"),
    ],
)
def test_net_areas_are_those_published(take_off, surface, net_m2):
    assert next(areas.net_m2 for areas in take_off.surfaces if areas.id == surface) == Decimal(net_m2)


def test_the_envelope_is_the_sum_of_the_gross_areas(take_off):
    assert take_off.totals.gross_m2 == Decimal("171.6")
    assert take_off.totals.net_m2 == Decimal("171.6") - 12


def test_the_floor_times_the_height_is_the_volume_published(take_off):
    floor = next(areas.gross_m2 for areas in take_off.surfaces if areas.id == "floor")
    assert floor * HEIGHT_MM / 1000 == Decimal("129.6")


def test_the_windows_are_sealed_round_their_whole_perimeter(take_off):
    perimeter = next(q for q in take_off.quantities if q.item == "opening_perimeter")
    assert perimeter.quantity == 2 * 2 * (3 + 2)
    assert [part.surface for part in perimeter.from_] == ["south"]
