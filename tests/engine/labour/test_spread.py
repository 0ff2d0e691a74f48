"""Safe hours against a Monte Carlo run of the model they stand for."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from api_schema.defaults import default_outputs
from workers.engine.labour.spread import SHARED_PART, hours_that_suffice

# Typical quantities of a one-and-a-half-storey house, by operation (invented); the spread is that of the outputs.
HOUSE = {
    "set_up_room": 9, "hang_membrane": 310, "hang_piece": 75, "tape_lap": 190, "tape_corner": 140,
    "seal_timber_edge": 90, "seal_masonry_edge": 12, "seal_slab_edge": 60, "seal_frame": 85, "cut_out_opening": 15,
    "fit_collar": 16, "tape_captive": 6, "tape_section": 4, "staple": 9000, "fix_batten": 120, "check_layer": 310, "clear_away": 9,
    "pre_test_walk": 1,
}  # fmt: skip


def operations_of_a_house():
    return [
        tuple(
            Decimal(HOUSE[output.operation]) * minutes / 60
            for minutes in (output.low_minutes, output.likely_minutes, output.high_minutes)
        )
        for output in default_outputs().operations
    ]


def simulated(operations, runs=400_000, seed=20261125):
    """Hours of many jobs: each operation beta-PERT (shape 4), joined by a Gaussian copula with one job factor."""
    random = np.random.default_rng(seed)
    job = random.standard_normal(runs)
    total = np.zeros(runs)
    shared = float(SHARED_PART)
    for low, likely, high in (tuple(map(float, operation)) for operation in operations):
        own = random.standard_normal(runs)
        uniform = stats.norm.cdf(np.sqrt(shared) * job + np.sqrt(1 - shared) * own)
        alpha, beta = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
        total += low + (high - low) * stats.beta.ppf(uniform, alpha, beta)
    return total


@pytest.fixture(name="jobs", scope="module")
def simulated_jobs():
    return simulated(operations_of_a_house(), runs=60_000)


@pytest.mark.parametrize("share", ["0.5", "0.8", "0.9"])
def test_safe_hours_suffice_in_the_stated_part_of_simulated_jobs(jobs, share):
    """The closed form against 60 000 simulated jobs: within one job in a hundred at 80, two elsewhere."""
    safe = float(hours_that_suffice(operations_of_a_house(), Decimal(share)))
    tolerance = 0.01 if share == "0.8" else 0.02
    assert np.mean(jobs <= safe) == pytest.approx(float(share), abs=tolerance)


def test_one_operation_alone_is_met_too():
    """A single beta-PERT is the least like a lognormal; its 80 in 100 must still be met within three."""
    operation = [(Decimal(10), Decimal(15), Decimal(30))]
    safe = float(hours_that_suffice(operation, Decimal("0.8")))
    assert np.mean(simulated(operation, runs=60_000) <= safe) == pytest.approx(0.8, abs=0.03)


def test_hours_without_spread_are_certain():
    assert hours_that_suffice([(Decimal(5),) * 3, (Decimal(3),) * 3], Decimal("0.9")) == 8


def test_no_work_takes_no_hours():
    assert hours_that_suffice([], Decimal("0.8")) == 0


def test_spread_of_many_alike_operations_does_not_cancel_out():
    """With one job factor the deviation of n alike operations falls to √0.5 of one, not to 1/√n."""
    whole = [(Decimal(100), Decimal(100), Decimal(220))]
    parts = [(Decimal(1), Decimal(1), Decimal("2.2"))] * 100
    mean = hours_that_suffice(whole, Decimal("0.5"))
    assert (
        hours_that_suffice(parts, Decimal("0.9")) - mean
        > (hours_that_suffice(whole, Decimal("0.9")) - mean) / 2
    )


positive = st.integers(1, 10_000).map(lambda hundredths: Decimal(hundredths) / 100)
triples = st.tuples(positive, positive, positive).map(lambda triple: tuple(sorted(triple)))


@given(st.lists(triples, min_size=1, max_size=10))
def test_a_surer_promise_never_takes_fewer_hours(operations):
    shares = [Decimal(share) for share in ("0.5", "0.7", "0.8", "0.99")]
    found = [hours_that_suffice(operations, share) for share in shares]
    assert found == sorted(found)
    assert found[0] > 0


@given(st.lists(triples, min_size=1, max_size=10))
def test_twice_the_work_takes_twice_the_hours(operations):
    doubled = [tuple(2 * hours for hours in operation) for operation in operations]
    once = hours_that_suffice(operations, Decimal("0.8"))
    assert hours_that_suffice(doubled, Decimal("0.8")) == pytest.approx(2 * once, rel=Decimal("1e-20"))
