"""The positions looked at hold a cheapest row: against every whole millimetre, on surfaces as large as rooms."""

from __future__ import annotations

import random
from decimal import Decimal

from hypothesis import given, settings

from api_schema.standard import Standard
from tests.engine.layout.shapes import COSTS, surface
from tests.engine.layout.test_cover import odd_surface, seeds
from workers.engine.costs import LayoutCosts, Membrane
from workers.engine.layout.chain import row_over
from workers.engine.layout.coarse import worth_looking_at
from workers.engine.layout.positions import both_ways, likely_positions, upwards, wanted_positions
from workers.engine.layout.rates import cost_in, rates_of
from workers.engine.layout.solve import Laid, solve


def directions_of(seed: int) -> list[Laid]:
    dice = random.Random(seed)
    membranes = [Membrane("wide", dice.choice([1000, 1500, 3000]), 50_000, Decimal("2.40"))]
    if dice.random() < 0.5:
        membranes.append(Membrane("narrow", 750, 25_000, Decimal("1.32")))
    costs = LayoutCosts(tuple(membranes), Decimal("1.4175"), Decimal("1.40"), Decimal("1.4175"))
    standard = Standard(handled_length_mm=dice.choice([2500, 10_000]), cut_step_mm=dice.choice([1, 50, 100]))
    one = odd_surface(seed)
    solved = solve(one, (0,) * len(one.outline_mm), standard, rates_of(costs, standard))
    return [laid for laid in (solved.best, solved.other) if laid is not None]


@given(seeds)
@settings(max_examples=25)
def test_the_row_found_is_the_best_of_every_millimetre(seed: int) -> None:
    for laid in directions_of(seed):
        every = row_over(laid.chain, list(range(laid.chain.start, laid.chain.high)))
        assert every is not None
        assert laid.key == every[0]


@given(seeds)
@settings(max_examples=15)
def test_either_set_of_positions_suffices(seed: int) -> None:
    for laid in directions_of(seed):
        for positions in (upwards(laid.chain), both_ways(laid.chain)):
            found = row_over(laid.chain, positions)
            assert found is not None
            assert found[0] == laid.key


@given(seeds)
@settings(max_examples=25)
def test_heights_are_ruled_out_only_where_no_cheapest_row_has_a_band(seed: int) -> None:
    for laid in directions_of(seed):
        chain = laid.chain
        if chain.gaps:
            continue
        known = row_over(chain, likely_positions(chain))
        assert known is None or known[0] >= laid.key
        exact = worth_looking_at(chain, cost_in(laid.key))
        assert any(a <= position < b for position, _ in laid.row for a, b in exact)
        found = row_over(chain, wanted_positions(chain, exact))
        assert found is not None
        assert found[0] == laid.key


def test_most_heights_of_a_valley_are_ruled_out() -> None:
    valley = surface(((0, 0), (8000, 0), (8000, 6000), (4000, 2500), (0, 6000)), run="across_members")
    laid = solve(valley, (0,) * 5, Standard(), rates_of(COSTS, Standard())).best
    kept = sum(stop - start for start, stop in worth_looking_at(laid.chain, laid.cost))
    assert 0 < kept < (laid.chain.high - laid.chain.start) / 2
