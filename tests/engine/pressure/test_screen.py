import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from api_schema.pressure_test import TEST_DIRECTIONS, BuildingSize, Reading
from tests.engine.pressure.invented import fan_test, readings
from workers.engine.pressure import analyse


def levels(*ways, **more):
    return {check.code: check.level for check in analyse(fan_test(*ways, **more)).checks}


def strays(way, **more):
    checks = analyse(fan_test(way, **more)).checks
    return {
        check.reading: check.message for check in checks if check.code == "outlier" and check.level != "met"
    }


def test_a_test_done_by_the_book_meets_everything():
    result = analyse(fan_test(readings(), readings(direction="pressurisation")))
    assert {check.level for check in result.checks} == {"met"}
    assert result.valid


@pytest.mark.parametrize(("code", "level", "way"), [
    ("steps", "not_met", readings(steps=(60.0, 50.0, 30.0, 12.0))),
    ("lowest_pressure", "not_met", readings(steps=(60.0, 50.0, 40.0, 30.0, 20.0, 6.0))),
    ("lowest_pressure", "not_met", readings(zero=-4.0)),
    ("lowest_pressure", "watch", readings(steps=(60.0, 50.0, 40.0, 30.0, 20.0))),
    ("highest_pressure", "not_met", readings(steps=(48.0, 40.0, 30.0, 20.0, 11.0))),
    ("step_width", "watch", readings(steps=(60.0, 50.0, 40.0, 20.0, 11.0))),
    ("zero_flow", "not_met", readings(zero=-5.6)),
    ("zero_flow", "not_met", readings(zero_flow_before_pa=(-7.0, 6.0))),
    ("zero_flow_after", "not_met", readings(zero_flow_after_pa=())),
    ("exponent", "not_met", readings(n=0.45)),
    ("exponent", "not_met", readings(n=1.05)),
    ("r_squared", "not_met", readings(change={1: 0.7, 4: 1.3, 7: 0.7, 9: 1.3})),
])  # fmt: skip
def test_each_condition_of_a_valid_test_is_watched(code, level, way):
    assert levels(way)[code] == level


def test_weather_is_watched_where_it_is_known():
    warm = readings(indoor_c=21.0, outdoor_c=-15.0)
    assert levels(warm, building=BuildingSize(height_m=9.0))["warm_air"] == "watch"
    assert levels(warm, building=BuildingSize(height_m=6.0))["warm_air"] == "met"
    assert levels(warm, building=BuildingSize())["warm_air"] == "not_checked"
    assert levels(wind_m_s=7.0)["wind"] == "watch"
    assert levels(wind_m_s=None)["wind"] == "not_checked"


def test_directions_that_part_are_watched():
    assert levels(readings(), readings(40.0, direction="pressurisation"))["directions_agree"] == "watch"


@given(place=some.integers(1, 10), share=some.floats(1.05, 5), low=some.booleans())
def test_one_wrong_reading_on_an_exact_line_is_named_and_no_other(place, share, low):
    assert set(strays(readings(change={place: 1 / share if low else share}))) == {place}


@given(places=some.sets(some.integers(1, 10), min_size=2, max_size=3), low=some.booleans())
def test_up_to_three_gross_errors_are_all_named(places, low):
    assert set(strays(readings(change=dict.fromkeys(places, 0.1 if low else 10.0)))) == places


def test_ordinary_scatter_is_not_called_an_error():
    wave = {place: 1 + 0.01 * math.sin(7.0 * place) for place in range(1, 11)}
    assert not strays(readings(change=wave))


@pytest.mark.parametrize(("factor", "words"), [
    (0.1, "ten times too small"), (10.0, "ten times too large"), (0.01, "a hundred times too small"),
])  # fmt: skip
def test_a_slipped_decimal_point_is_suggested(factor, words):
    assert words in strays(readings(change={5: factor}))[5]


def test_swapped_digits_are_suggested():
    way = readings()
    steps = list(way.readings)
    steps[4] = Reading(steps[4].pressure_pa, 734.0)  # the line has 373.98 there, typed 374 would be right
    swapped = dataclasses.replace(way, readings=tuple(steps))
    assert "374 m³/h" in strays(swapped)[5]


def test_a_wrong_pressure_is_suggested():
    way = readings()
    steps = list(way.readings)
    steps[5] = Reading(-63.0, steps[5].flow_m3_h)  # for −36
    assert "-36 Pa" in strays(dataclasses.replace(way, readings=tuple(steps)))[6]


def test_a_reading_far_off_voids_the_test_and_one_a_little_off_is_only_watched():
    assert not analyse(fan_test(readings(change={4: 1.5}))).valid
    assert analyse(fan_test(readings(change={4: 1.06}))).valid


def test_readings_typed_without_their_sign_are_watched_as_a_whole():
    way = readings(zero=0.0)
    flipped = dataclasses.replace(
        way, readings=tuple(Reading(-each.pressure_pa, each.flow_m3_h) for each in way.readings)
    )
    checks = [check for check in analyse(fan_test(flipped)).checks if check.code == "sign"]
    assert [check.level for check in checks] == ["watch"]
    assert "All readings" in checks[0].message


def test_the_flow_weighted_method_is_screened_by_its_own_range():
    way = readings(steps=(49.0, 45.0, 40.0, 35.0, 30.0, 25.0, 20.0, 15.0))
    assert levels(way, method="flow_weighted")["highest_pressure"] == "met"
    assert levels(way, method="flow_weighted")["lowest_pressure"] == "met"
    assert levels(way)["highest_pressure"] == "not_met"


def test_every_check_names_its_direction_and_its_words():
    result = analyse(fan_test(readings(), readings(direction="pressurisation")))
    assert all(check.message.endswith(".") for check in result.checks)
    ways = {
        way: [check.code for check in result.checks if check.direction == way]
        for way in (*TEST_DIRECTIONS, None)
    }
    assert ways["depressurisation"] == ways["pressurisation"]
    assert ways[None] == ["wind", "warm_air", "directions_agree"]
