import dataclasses
from decimal import Decimal

import pytest

from api_schema.job import Target
from api_schema.leakage_defaults import default_leakage_values
from api_schema.shape import dump
from tests.engine.pressure.house import JOB, TAKE_OFF
from workers.engine.pressure.budget import allowed_flow_m3_h, leakage_budget

VALUES = default_leakage_values()
PER_CM2 = 0.0001 * 3600 * (8 / 1.2041) ** 0.5 * 12.5**0.65


def budget(**more):
    return leakage_budget(JOB, TAKE_OFF, VALUES, **more)


def line(detail, of=None):
    return next(line for line in (of or budget()).lines if line.detail == detail)


def test_the_target_by_volume_allows_volume_times_air_changes():
    assert allowed_flow_m3_h(Target(n50_per_h=Decimal("0.6")), 412.0, None) == pytest.approx(247.2)


def test_the_target_by_area_allows_area_times_permeability():
    assert allowed_flow_m3_h(Target(q50_m3_h_m2=Decimal("3")), None, 386.0) == 1158.0
    assert budget(target=Target(q50_m3_h_m2=Decimal("3"))).allowed_m3_h == pytest.approx(3 * 42.5)


def test_without_a_size_nothing_is_allowed_or_shared():
    assert allowed_flow_m3_h(Target(n50_per_h=Decimal("0.6")), None, None) is None
    bare = leakage_budget(dataclasses.replace(JOB, target=None), TAKE_OFF, VALUES)
    assert (bare.allowed_m3_h, bare.forgotten_pipe_share, bare.lines[0].share_of_allowed) == (
        None,
        None,
        None,
    )


@pytest.mark.parametrize(("detail", "quantity", "likely_cm2"), [
    ("membrane_face", "38.47", 0.15), ("slab_edge", "8.00", 0.8), ("masonry_edge", "2.50", 0.8), ("timber_edge", "2.50", 0.5),
    ("ceiling_corner", "9.00", 0.5), ("other_corner", "2.50", 0.5), ("frame_joint", "12.80", 0.15), ("window", "4.80", 0.24),
    ("door", "1", 12.0), ("hatch", "1", 18.0), ("collar", "3", 2.0), ("taped_penetration", "1", 2.0), ("flue", "1", 6.0),
])  # fmt: skip
def test_each_detail_is_its_quantity_times_its_value(detail, quantity, likely_cm2):
    """By hand from the house: e.g. 5.00 + 4.00 m of wall–ceiling corner, 3 collars, 12.50−1.44 + 10−2.10 + 20−0.49 m²."""
    found = line(detail)
    assert found.quantity == Decimal(quantity)
    assert found.area_cm2.likely == pytest.approx(float(quantity) * likely_cm2)
    assert found.flow_50_m3_h.likely == pytest.approx(float(quantity) * likely_cm2 * PER_CM2)
    assert found.share_of_allowed == pytest.approx(found.flow_50_m3_h.likely / 75)
    assert found.source


def test_the_total_is_the_sum_of_the_lines_and_its_ends_take_them_as_independent():
    found = budget()
    flows = [line.flow_50_m3_h for line in found.lines]
    assert found.flow_50_m3_h.likely == pytest.approx(sum(flow.likely for flow in flows))
    assert found.flow_50_m3_h.high > max(flow.high for flow in flows)
    assert found.flow_50_m3_h.high < sum(flow.high for flow in flows)


def test_the_largest_line_stands_first():
    likely = [line.flow_50_m3_h.likely for line in budget().lines]
    assert likely == sorted(likely, reverse=True)


def test_the_ten_places_with_most_at_stake_are_named():
    places = budget().most_important
    assert len(places) == 10
    stakes = [place.flow_50_m3_h.high - place.flow_50_m3_h.low for place in places]
    assert stakes == sorted(stakes, reverse=True)
    assert places[0].detail == "flue"
    assert any("p1 of north" in place.words for place in places)


def test_one_forgotten_pipe_is_said_in_flow_and_in_share_of_the_allowance():
    found = budget()
    assert found.forgotten_pipe_m3_h.likely == pytest.approx(6 * PER_CM2)
    assert found.forgotten_pipe_share == pytest.approx(6 * PER_CM2 / 75)
    assert "One forgotten pipe adds about 29 m³/h, 38 % of what is allowed." in found.words


def test_the_firms_factor_scales_every_detail_but_not_the_forgotten_pipe():
    half = leakage_budget(JOB, TAKE_OFF, dataclasses.replace(VALUES, factor=0.5, tests_behind=6))
    assert half.flow_50_m3_h.likely == pytest.approx(budget().flow_50_m3_h.likely / 2)
    assert half.forgotten_pipe_m3_h == budget().forgotten_pipe_m3_h
    assert "times 0.50 from 6 fan tests" in half.words
    first = leakage_budget(JOB, TAKE_OFF, dataclasses.replace(VALUES, factor=0.5, tests_behind=1))
    assert "times 0.50 from one fan test of yours." in first.words


def test_an_opening_in_a_joined_edge_shortens_the_corner():
    gap = dataclasses.replace(
        JOB.surfaces[0],
        openings=(
            dataclasses.replace(JOB.surfaces[0].openings[0], outline_mm=((4000, 0), (5000, 0), (5000, 1000), (4000, 1000))),
        ),
    )  # fmt: skip
    found = leakage_budget(dataclasses.replace(JOB, surfaces=(gap, *JOB.surfaces[1:])), TAKE_OFF, VALUES)
    assert line("other_corner", found).quantity == Decimal("1.50")


def test_a_budget_goes_out_as_json():
    assert dump(budget())["most_important"][0]["detail"] == "flue"
