"""The take-off of a wall that can be counted on paper."""

import dataclasses
from decimal import Decimal, localcontext

import pytest

from api_schema.defaults import default_price_book, default_standard
from api_schema.layout import EndLap
from api_schema.shape import dump, load
from api_schema.surface import EdgeFinish, Opening
from api_schema.take_off import TakeOff
from tests.engine.takeoff.samples import (
    covering,
    cut_list_of,
    job_of,
    joined,
    laid,
    layout_of,
    rectangle,
    sample_layout,
    sample_wall,
    strip,
    wall,
    window,
)
from workers.engine.takeoff import measure


def measured(job, layout, **changes):
    standard = dataclasses.replace(default_standard(), **changes)
    return measure(job, layout, cut_list_of(layout), standard, default_price_book())


def amounts(take_off):
    return {(q.item, q.product): q.quantity for q in take_off.quantities}


def amount(take_off, item):
    return sum((q.quantity for q in take_off.quantities if q.item == item), Decimal(0))


@pytest.fixture(name="sample")
def sample_take_off():
    return measured(job_of(sample_wall()), layout_of(sample_layout()))


def test_a_wall_counted_on_paper_comes_out_the_same(sample):
    """C: lengths of the sample wall summed by hand."""
    window_mm, door_mm = 2 * (1800 + 1200), 2 * 2100 + 900  # the door's sill lies on the floor
    on_slab = 6200 - 900
    around_70_by_220 = 2 * (70 + 220) + 4 * 150
    round_110, round_600 = 7 * 150, 38 * 150  # ceil(π·110/50), ceil(π·600/50)
    assert amounts(sample) == {
        ("membrane_laid", None): Decimal(6300 * 1500 + 6300 * 1180) / 10**6,
        ("lap", None): Decimal("3.5"),
        ("lap_tape", None): Decimal("3.5"),
        ("timber_edge", None): Decimal("6.2"),
        ("timber_edge_tape", None): Decimal("6.2"),
        ("slab_edge", None): Decimal(on_slab) / 1000,
        ("primer", None): Decimal(on_slab) / 1000,
        ("bead", None): Decimal("149.9"),  # 5300 mm × π/4 × 36 mm² = 149 854 mm³
        ("opening", None): 2,
        ("opening_perimeter", None): Decimal(window_mm + door_mm) / 1000,
        ("frame_tape", None): Decimal(window_mm + door_mm) / 1000,
        ("piece", None): 2,
        ("captive", None): 2,
        ("captive_tape", None): Decimal(round_110 + round_600) / 1000,
        ("section", None): 1,
        ("section_tape", None): Decimal(around_70_by_220) / 1000,
        ("flue", None): 1,
        ("collar", "collar-4-11"): 3,
        ("staples", None): amount(sample, "staples"),  # counted in test_fixings
    }


def test_areas_are_gross_net_and_laid(sample):
    (areas,) = sample.surfaces
    assert areas.gross_m2 == Decimal("15.19")
    assert areas.net_m2 == Decimal("15.19") - Decimal("2.16") - Decimal("1.89")
    assert areas.as_laid_m2 == Decimal("16.884")
    assert sample.totals.as_bought_m2 == 75


def test_every_figure_names_the_surfaces_it_comes_from(sample):
    for quantity in sample.quantities:
        assert [part.surface for part in quantity.from_] == ["north"]
        assert quantity.from_[0].quantity == quantity.quantity


def test_parts_of_two_surfaces_add_up_to_the_whole():
    walls = sample_wall(), dataclasses.replace(sample_wall(), id="south")
    take_off = measured(job_of(*walls), layout_of(sample_layout(), sample_layout("south")))
    for quantity in take_off.quantities:
        assert [part.surface for part in quantity.from_] == ["north", "south"]
        spread = Decimal("0.1") if quantity.unit == "ml" else 0  # each part of the bead is rounded by itself
        assert abs(sum(part.quantity for part in quantity.from_) - quantity.quantity) <= spread


def test_the_take_off_travels_as_json(sample):
    assert load(TakeOff, dump(sample)) == sample


def test_the_same_job_measures_the_same_whatever_precision_the_caller_works_in(sample):
    with localcontext() as context:
        context.prec = 3
        again = measured(job_of(sample_wall()), layout_of(sample_layout()))
    assert again == sample


def test_a_bead_is_a_cylinder():
    """C: length × π/4 · bead²; 1 m of 8 mm bead holds 50.3 ml."""
    slab_wall = wall(
        outline=rectangle(0, 0, 1000, 2000), edges=(EdgeFinish(0, "slab"), EdgeFinish(1, "masonry"))
    )
    take_off = measured(job_of(slab_wall), layout_of(covering(slab_wall)), bead_mm=8)
    assert amount(take_off, "bead") == Decimal("150.8")  # 3 m × 50.265
    assert amount(take_off, "primer") == 3


def test_a_corner_counts_once_under_the_side_that_returns():
    a, b = wall("a"), wall("b")
    job = job_of(a, b, junctions=(joined("a", 1, "b", 3),))
    returns_on_b = layout_of(covering(a, edges=[(1, "stops")]), covering(b, edges=[(3, "returns")]))
    corner = next(q for q in measured(job, returns_on_b).quantities if q.item == "corner")
    assert corner.quantity == Decimal("2.45")
    assert [part.surface for part in corner.from_] == ["b"]


def test_a_corner_is_shorter_where_an_opening_reaches_it():
    a = wall("a", openings=(window(left=5000, right=6200),))
    job = job_of(a, wall("b"), junctions=(joined("a", 1, "b", 3),))
    take_off = measured(job, layout_of(covering(a, edges=[(1, "returns")]), covering(wall("b"))))
    assert amount(take_off, "corner") == Decimal("1.25")
    assert amount(take_off, "corner_tape") == Decimal("1.25")


def test_an_open_edge_is_not_sealed():
    open_wall = wall(edges=tuple(EdgeFinish(edge, "open") for edge in range(4)))
    items = {q.item for q in measured(job_of(open_wall), layout_of(covering(open_wall))).quantities}
    assert items == {"membrane_laid", "staples", "piece"}


def test_a_sloping_edge_is_measured_along_the_slope():
    gable = wall(outline=((0, 0), (4000, 0), (4000, 3000)), edges=(EdgeFinish(2, "timber"),))
    assert amount(measured(job_of(gable), layout_of(covering(gable))), "timber_edge") == 5


def test_two_openings_side_by_side_are_not_sealed_to_each_other():
    pair = wall(openings=(window(), window("w2", 3600, 900, 4600, 2100)))
    alone = wall(openings=(window("w1", 1800, 900, 4600, 2100),))
    found = [
        amount(measured(job_of(one), layout_of(covering(one))), "opening_perimeter") for one in (pair, alone)
    ]
    assert found[0] == found[1] == 8


@pytest.mark.parametrize(
    ("rule", "kind", "deducted"),
    [
        ("net", "wall", "5.5601"),
        ("deduct_over_1_00_m2", "wall", "4.06"),  # R: NRM2, voids up to 1.00 m² are not deducted
        ("deduct_over_2_50_m2", "wall", "2.56"),  # P: VOB/C, openings over 2.5 m² are deducted
        ("deduct_over_2_50_m2", "floor", "5.06"),  # P: VOB/C, in floors over 0.5 m²
    ],
)
def test_openings_are_deducted_by_the_rule_of_measurement(rule, kind, deducted):
    openings = (
        Opening("half", "hatch", rectangle(0, 0, 1000, 500)),
        Opening("one", "hatch", rectangle(1000, 0, 2000, 1000)),
        Opening("one-and-a-half", "hatch", rectangle(2000, 0, 3000, 1500)),
        Opening("over", "hatch", rectangle(3000, 0, 4600, 1600)),
        Opening("tiny", "hatch", rectangle(5000, 0, 5010, 10)),
    )
    surface = dataclasses.replace(wall(openings=openings), kind=kind)
    (areas,) = measured(job_of(surface), layout_of(covering(surface)), measurement_rule=rule).surfaces
    assert areas.deducted_m2 == Decimal(deducted)
    assert areas.as_measured_m2 == Decimal("15.19") - Decimal(deducted)
    assert areas.net_m2 == Decimal("15.19") - Decimal("5.5601")


def test_an_opening_of_exactly_the_limit_is_not_deducted():
    """R: NRM2 says voids up to 1.00 m²; P: VOB/C says over 2.5 m²."""
    openings = (
        Opening("one", "window", rectangle(0, 0, 1000, 1000)),
        Opening("two-and-a-half", "window", rectangle(2000, 0, 4500, 1000)),
    )
    surface = wall(openings=openings)
    for rule, deducted in (("deduct_over_1_00_m2", "2.5"), ("deduct_over_2_50_m2", "0")):
        (areas,) = measured(job_of(surface), layout_of(covering(surface)), measurement_rule=rule).surfaces
        assert areas.deducted_m2 == Decimal(deducted)


def test_rolls_from_stock_were_bought_before():
    layout = layout_of(sample_layout())
    take_off = measure(
        job_of(sample_wall()),
        layout,
        cut_list_of(layout, from_stock=True),
        default_standard(),
        default_price_book(),
    )
    assert take_off.totals.as_bought_m2 == 0


def test_end_laps_are_taped_like_laps():
    joint = EndLap("north/1a-1b", 2950, 3050, 1400, True)
    layout = layout_of(
        laid("north", [strip("north/1", (0, 1400), [(0, 3050), (2950, 6200)], end_laps=(joint,))])
    )
    take_off = measured(job_of(wall()), layout)
    assert amount(take_off, "end_lap") == amount(take_off, "lap_tape") == Decimal("1.4")


def test_a_surface_without_a_layout_is_measured_all_the_same():
    take_off = measured(job_of(sample_wall()), layout_of())
    assert take_off.totals.gross_m2 == Decimal("15.19")
    assert take_off.totals.as_laid_m2 == 0
    assert amount(take_off, "staples") == 0
