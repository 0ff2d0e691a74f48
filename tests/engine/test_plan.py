"""From a job to its plan, the whole way."""

import dataclasses
import json
from decimal import Decimal
from pathlib import Path

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.problem import SurveyFaults
from api_schema.shape import dump, load
from workers.engine.plan import plan_job

DEMO = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"


def demo_house() -> Job:
    return load(Job, json.loads(DEMO.read_text(encoding="utf-8")))


def plan_of(job: Job, price_book: PriceBook | None = None) -> Plan:
    return plan_job(job, default_standard(), default_outputs(), price_book or default_price_book())


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_of(demo_house())


def test_the_demonstration_house_is_as_large_as_it_must_be() -> None:
    job = demo_house()
    captive = [one for surface in job.surfaces for one in surface.penetrations if not one.free_end]
    assert len(job.surfaces) >= 25
    assert sum(len(surface.openings) for surface in job.surfaces) >= 15
    assert sum(len(surface.penetrations) for surface in job.surfaces) >= 20
    assert len(captive) >= 3


def test_every_piece_laid_is_cut_exactly_once(plan: Plan) -> None:
    laid = [
        piece.id for surface in plan.layout.surfaces for strip in surface.strips for piece in strip.pieces
    ]
    cut = [piece for roll in plan.cut_list.rolls for one in roll.cuts for piece in one.pieces]
    assert sorted(cut) == sorted(laid)
    assert len(set(laid)) == len(laid)


def test_the_price_is_the_sum_of_its_rounded_lines(plan: Plan) -> None:
    assert plan.price.net == sum(line.amount for line in plan.price.lines)
    assert plan.price.total == plan.price.net + sum(tax.amount for tax in plan.price.tax)


def test_every_quantity_is_the_sum_of_its_surfaces_but_for_rounding(plan: Plan) -> None:
    for quantity in plan.take_off.quantities:
        digit = Decimal(1).scaleb(int(quantity.quantity.as_tuple().exponent))
        rounding = digit * (len(quantity.from_) + 1) / 2  # total and parts are each rounded once
        apart = abs(sum(part.quantity for part in quantity.from_) - quantity.quantity)
        assert apart <= (0 if quantity.unit == "piece" else rounding), quantity.item


def test_no_bound_is_above_what_was_found(plan: Plan) -> None:
    assert plan.layout.bound <= plan.layout.cost
    assert plan.cut_list.cost_bound <= plan.cut_list.cost
    assert plan.cut_list.rolls_bound <= plan.cut_list.rolls_opened


def test_the_same_job_gives_the_same_plan_to_the_byte(plan: Plan) -> None:
    assert json.dumps(dump(plan_of(demo_house()))) == json.dumps(dump(plan))


def test_a_plan_survives_the_way_to_json_and_back(plan: Plan) -> None:
    assert load(Plan, json.loads(json.dumps(dump(plan)))) == plan


def test_a_flue_is_never_given_membrane_tape_or_rubber(plan: Plan) -> None:
    (flue,) = [one for one in plan.take_off.penetrations if one.penetration == "f1"]
    assert (flue.method, flue.product, flue.tape_pieces) == ("non_combustible", None, 0)
    assert any(check.code == "hot_flue" for check in plan.checks)


def test_what_the_price_book_lacks_is_said_and_not_priced() -> None:
    book = default_price_book()
    short = dataclasses.replace(book, products=tuple(one for one in book.products if one.kind != "sealant"))
    plan = plan_of(demo_house(), short)
    assert [check.message for check in plan.checks if check.code == "not_in_price_book"]
    assert all(line.kind != "sealant" for line in plan.order_lines)


def test_a_price_book_without_membrane_is_refused_in_words() -> None:
    book = default_price_book()
    bare = dataclasses.replace(book, products=tuple(one for one in book.products if one.kind != "membrane"))
    with pytest.raises(SurveyFaults, match="membrane"):
        plan_of(demo_house(), bare)


def test_a_surface_narrower_than_a_finger_is_still_planned() -> None:
    house = demo_house()
    sliver = dataclasses.replace(
        house.surfaces[0], outline_mm=((0, 0), (5, 0), (5, 2450), (0, 2450)), openings=(), penetrations=()
    )
    plan = plan_of(dataclasses.replace(house, surfaces=(sliver,), junctions=()))
    assert plan.take_off.totals.gross_m2 == Decimal("0.0122")  # 5 mm × 2 450 mm, half-even to 4 places
