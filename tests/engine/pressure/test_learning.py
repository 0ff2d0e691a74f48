import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from api_schema.leakage import PredictedMeasured
from api_schema.leakage_defaults import default_leakage_values
from workers.engine.pressure.learning import rescaled

VALUES = default_leakage_values()


def factor(*history):
    return rescaled(VALUES, history).factor


def test_no_tests_leave_the_values_as_they_are():
    assert rescaled(VALUES, ()) == VALUES


def test_one_test_moves_the_factor_a_fifth_of_the_way_and_four_move_it_half_way():
    half = PredictedMeasured(400.0, 200.0)
    assert factor(half) == pytest.approx(0.5**0.2)
    assert factor(*[half] * 4) == pytest.approx(0.5**0.5)
    assert rescaled(VALUES, [half] * 4).tests_behind == 4


def test_many_tests_move_it_nearly_all_the_way():
    assert factor(*[PredictedMeasured(400.0, 200.0)] * 400) == pytest.approx(0.5, rel=0.01)


def test_a_budget_made_with_an_earlier_factor_teaches_the_same_as_one_without():
    assert factor(PredictedMeasured(200.0, 150.0, factor=0.5)) == factor(PredictedMeasured(400.0, 150.0))


def test_twice_and_half_cancel():
    assert factor(PredictedMeasured(100.0, 200.0), PredictedMeasured(100.0, 50.0)) == pytest.approx(1.0)


@given(some.lists(some.tuples(some.floats(10, 5000), some.floats(10, 5000)), min_size=1, max_size=30))
def test_the_factor_lies_between_one_and_the_geometric_mean_of_measured_by_predicted(pairs):
    mean = math.exp(math.fsum(math.log(found / said) for said, found in pairs) / len(pairs))
    moved = factor(*(PredictedMeasured(said, found) for said, found in pairs))
    assert min(1.0, mean) * (1 - 1e-9) <= moved <= max(1.0, mean) * (1 + 1e-9)
