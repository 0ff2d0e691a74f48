"""Never dearer than a search over every whole millimetre, and never cheaper either."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from api_schema.standard import Standard
from api_schema.surface import Members, Penetration
from tests.engine.layout.brute import Brute
from tests.engine.layout.shapes import laid, odd_openings, odd_outline, surface
from workers.engine.costs import LayoutCosts, Membrane


def small_case(seed: int) -> tuple[object, Standard, LayoutCosts]:
    """A surface of a few hundred millimetres with rolls, laps and steps to match."""
    dice = random.Random(seed)
    height = dice.randint(20, 130)
    outline = odd_outline(dice, dice.randint(30, 200), height)
    openings = odd_openings(dice, outline, dice.randint(0, 3))
    pipes = tuple(
        Penetration(f"p{i}", "pipe", (dice.randint(0, 200), dice.randint(0, height)), dice.randint(1, 12))
        for i in range(dice.randint(0, 2))
    )
    short = dice.random() < 0.4
    one = surface(
        outline,
        openings,
        Members(
            dice.choice(["up", "across"]), dice.randint(12, 30), dice.randint(2, 11), dice.randint(0, 20)
        ),
        penetrations=pipes,
        run="across_members" if short else "cheapest",
    )
    standard = Standard(
        lap_mm=dice.randint(3, 12),
        end_lap_mm=dice.randint(3, 10),
        cut_step_mm=dice.choice([1, 3, 7, 10]),
        handled_length_mm=dice.randint(60, 120) if short else 1000,
        edge_open_mm=0,
        lap_clear_mm=dice.choice([0, 5, 9]),
        lap_penalty_per_m=Decimal(dice.choice(["0", "40", "900"])),
    )
    membranes = [
        Membrane("wide", dice.randint(25, 60), dice.choice([400, 1000]), Decimal(dice.randint(5, 40)))
    ]
    if dice.random() < 0.4:
        membranes.append(Membrane("narrow", dice.randint(14, 24), 1000, Decimal(dice.randint(2, 20))))
    costs = LayoutCosts(
        tuple(membranes), Decimal(dice.randint(0, 30)), Decimal(dice.randint(0, 3)), Decimal(dice.randint(0, 30)),
        minor_unit=Decimal("0.000000001"),
    )  # fmt: skip
    return one, standard, costs


@pytest.mark.parametrize("part", range(4))
def test_the_cost_is_that_of_the_best_row_at_one_millimetre(part: int) -> None:
    for seed in range(part * 15, part * 15 + 15):
        one, standard, costs = small_case(seed)
        found = laid(one, standard, costs)
        ways = [Brute(one, standard, costs, along=False).cheapest()]
        if one.run == "cheapest":
            ways.append(Brute(one, standard, costs, along=True).cheapest())
        best = min(way for way in ways if way is not None)
        assert found.cost == best, f"seed {seed}"
        assert found.proven
        assert found.bound == found.cost
        if found.runner_up_cost is not None:
            assert found.runner_up_cost == max(way for way in ways if way is not None), f"seed {seed}"
