"""What the layout weighs, from a price book and the outputs."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.outputs import Condition, Output
from api_schema.price_book import Pack, PriceRules, Product
from tests.engine.layout.shapes import COSTS, laid, rectangle, surface
from workers.engine.costs import Membrane, costs_of
from workers.engine.layout import LayoutError

MEMBRANE = Product(
    "sheet", "Sheet", "membrane", "example", "m",
    packs=(Pack(Decimal(25), Decimal("75.00")), Pack(Decimal(50), Decimal("120.00"))), width_mm=1500,
)  # fmt: skip
TAPE = Product("tape", "Tape", "lap_tape", "example", "m", packs=(Pack(Decimal(30), Decimal("24.00")),))
BOOK = replace(
    default_price_book(), products=(MEMBRANE, TAPE), rules=PriceRules(labour_cost_per_h=Decimal(30))
)
OUTPUTS = replace(
    default_outputs(),
    operations=(
        Output("tape_lap", "m", Decimal(1), Decimal(2), Decimal(3)),
        Output("hang_piece", "piece", Decimal(1), Decimal(4), Decimal(9)),
    ),
    conditions=(Condition("by-hand", "stapler", "hand", Decimal("1.5"), ("hang_piece",)),),
)


def test_rates_follow_from_prices_waste_and_minutes() -> None:
    costs = costs_of(BOOK, OUTPUTS, replace(default_standard(), tape_waste=Decimal("0.05")))
    # by hand: 120/50 a metre; tape 0.80 · 1.05 + 2 min at 30/h = 0.84 + 1.00; 4 min at 30/h
    assert costs.membranes == (Membrane("sheet", 1500, 50_000, Decimal("2.40")),)
    assert costs.lap_cost_per_m == Decimal("1.84")
    assert costs.end_lap_cost_per_m == Decimal("1.84")
    assert costs.piece_cost == Decimal("2.00")


def test_conditions_of_the_whole_job_count() -> None:
    by_hand = Job("x", stapler="hand")
    assert costs_of(BOOK, OUTPUTS, default_standard(), by_hand).piece_cost == Decimal("3.00")
    assert costs_of(BOOK, OUTPUTS, default_standard(), Job("x")).piece_cost == Decimal("2.00")


def test_amounts_are_stated_in_the_smallest_coin_of_the_currency() -> None:
    yen = costs_of(replace(BOOK, currency="JPY"), OUTPUTS, default_standard())
    assert laid(surface(rectangle(6200, 2450)), costs=yen).cost == Decimal(45)
    # by hand: 12.4 m at 2.40, 6.2 m at 1.84 (tape waste as in the standard), two pieces at 2.00 = 45.168


def test_a_price_beyond_reason_is_refused() -> None:
    dear = replace(COSTS, membranes=(Membrane("gold", 1500, 50_000, Decimal(1_000_000)),))
    with pytest.raises(LayoutError, match=r"A metre of gold would cost 1000000.*Check the prices"):
        laid(surface(rectangle(6200, 2450)), costs=dear)


def test_a_roll_too_short_to_join_is_left_aside_where_another_can_be_laid() -> None:
    stub = Membrane("stub", 1500, 80, Decimal("0.10"))
    layout = laid(surface(rectangle(6200, 2450)), costs=replace(COSTS, membranes=(stub, *COSTS.membranes)))
    assert {strip.product for strip in layout.strips} == {"membrane-1500"}
