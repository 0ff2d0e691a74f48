import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from api_schema.leakage import PredictedMeasured
from api_schema.leakage_defaults import default_leakage_values
from workers.engine.pressure.learning import rescaled

VALUES = default_leakage_values()
TIGHTER = PredictedMeasured(400.0, 300.0)


def way(count):
    """How far `count` equal tests at three quarters of the prediction move the factor toward three quarters."""
    return math.log(rescaled(VALUES, [TIGHTER] * count).factor) / math.log(0.75)


def test_no_tests_leave_the_values_as_they_are():
    assert rescaled(VALUES, ()) == VALUES


def test_a_history_that_was_withdrawn_takes_the_factor_back():
    assert rescaled(dataclasses.replace(VALUES, factor=0.4, tests_behind=9), ()) == VALUES


def test_few_tests_move_the_factor_little_and_many_move_it_most_of_the_way():
    """By hand for one test: K = 0.35² ÷ (10 · 0.25² ÷ 11) = 2.156, so 1/3.156 of the way."""
    assert way(1) == pytest.approx(1 / (1 + 0.35**2 / (10 * 0.25**2 / 11)))
    assert 0.45 < way(2) < 0.65
    assert way(20) > 0.9
    assert rescaled(VALUES, [TIGHTER] * 4).tests_behind == 4


def test_a_budget_made_with_an_earlier_factor_teaches_the_same_as_one_without():
    with_factor = rescaled(VALUES, [PredictedMeasured(200.0, 150.0, factor=0.5)])
    assert with_factor == rescaled(VALUES, [PredictedMeasured(400.0, 150.0)])


def test_one_wild_test_moves_the_factor_no_more_than_an_ordinary_one():
    usual = [TIGHTER] * 6
    bad = rescaled(VALUES, [*usual, PredictedMeasured(400.0, 1200.0)]).factor
    absurd = rescaled(VALUES, [*usual, PredictedMeasured(400.0, 400_000.0)]).factor
    assert bad == absurd
    assert rescaled(VALUES, usual).factor < absurd < 1.0


@given(some.lists(some.tuples(some.floats(10, 5000), some.floats(10, 5000)), min_size=1, max_size=30))
def test_the_factor_lies_between_one_and_the_furthest_test(pairs):
    logs = [math.log(found / said) for said, found in pairs]
    moved = math.log(rescaled(VALUES, [PredictedMeasured(*pair) for pair in pairs]).factor)
    assert min(0.0, *logs, 0.0) - 1e-9 <= moved <= max(0.0, *logs, 0.0) + 1e-9
