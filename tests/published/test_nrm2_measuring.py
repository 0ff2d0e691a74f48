"""R (recalled from memory): NRM2/SMM7: measured net as fixed, laps deemed included, voids up to 1.00 m² not deducted
for sheet coverings, up to 500 mm wide in metres, penetrations enumerated.
"""

from decimal import Decimal

import pytest

from api_schema.standard import Standard
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface
from tests.published.measuring import Corners, by_item, measured_of, rectangle
from workers.engine.takeoff.areas import areas_of

RULE = Standard(measurement_rule="deduct_over_1_00_m2")


def wall(outline: Corners = rectangle(0, 0, 6000, 2500), **more: object) -> Surface:  # noqa: B008 - a constant
    return Surface("s", "wall", outline, Members("up", 400), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(("width", "measured"), [(1000, "15"), (1001, "13.999")])
def test_voids_up_to_one_square_metre_are_not_deducted(width: int, measured: str) -> None:
    """1.000 × 1.000 m is not; 1.001 × 1.000 m is: 15 − 1.001."""
    window = Opening("w", "window", rectangle(1000, 900, 1000 + width, 1900))
    one = by_item(measured_of(RULE, wall(openings=(window,))))["area"]
    assert (one.gross, one.as_measured) == (15, Decimal(measured))


def test_laps_are_deemed_included() -> None:
    """There are 6 m of each lap, and none is measured."""
    one = by_item(measured_of(RULE, wall()))["lap"]
    assert one.net == one.gross == one.deducted > 0
    assert one.as_measured == 0


@pytest.mark.parametrize(
    ("outline", "item", "measured"),
    [
        (rectangle(0, 0, 3000, 500), "narrow", "3"),
        (rectangle(0, 0, 400, 2500), "narrow", "2.5"),
        (rectangle(0, 0, 3000, 501), "area", "1.503"),
        # a band 3-4-5 of 400 mm: along (2400, 1800), that is 3 m
        (((240, 0), (2640, 1800), (2400, 2120), (0, 320)), "narrow", "3"),
    ],
)
def test_up_to_five_hundred_millimetres_wide_is_measured_in_metres(
    outline: Corners, item: str, measured: str
) -> None:
    found = by_item(measured_of(RULE, wall(outline)))
    assert {one for one in found if one in ("area", "narrow")} == {item}
    assert found[item].as_measured == Decimal(measured)  # type: ignore[index]
    assert found[item].unit == ("m" if item == "narrow" else "m2")  # type: ignore[index]


def test_what_is_measured_in_metres_is_in_no_table_of_areas() -> None:
    """Of a band 3 m × 0.5 m and a wall, the wall's area alone is measured; both are laid."""
    band, whole = (
        areas_of(wall(rectangle(0, 0, 3000, 500)), None, RULE.measurement_rule),
        areas_of(wall(), None, RULE.measurement_rule),
    )
    assert (band.gross, band.deducted, band.measured) == (2 * 1_500_000, 0, 0)
    assert whole.measured == whole.gross - whole.deducted > 0
    net = areas_of(wall(rectangle(0, 0, 3000, 500)), None, "net")
    assert net.measured == net.gross


def test_penetrations_are_enumerated() -> None:
    """One pipe and four alike: five."""
    pipes = (
        Penetration("p", "pipe", (1000, 1000), diameter_mm=110),
        Penetration("c", "cable", (2000, 1000), diameter_mm=10, free_end=True, count=4),
    )
    one = by_item(measured_of(RULE, wall(penetrations=pipes)))["penetration"]
    assert (one.as_measured, one.unit) == (5, "piece")


def test_lengths_are_net_as_fixed() -> None:
    """17 m all round less the 0.9 m of a door: gaps are deducted however short."""
    door = Opening("d", "door", rectangle(2000, 0, 2900, 2010))
    edges = tuple(EdgeFinish(edge, "slab") for edge in range(4))
    one = by_item(measured_of(RULE, wall(openings=(door,), edges=edges)))["slab_edge"]
    assert (one.gross, one.as_measured) == (17, Decimal("16.1"))
