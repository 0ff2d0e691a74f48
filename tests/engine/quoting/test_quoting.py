"""A plan priced with options, and a price taken apart."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.breakdown import Breakdown
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.price import Price
from api_schema.quote_options import QuoteOptions
from api_schema.shape import dump, load
from service.api.examples import JOB
from workers.engine.plan import plan_job
from workers.engine.quoting import Offered, price_with

STANDARD, OUTPUTS, BOOK = default_standard(), default_outputs(), default_price_book()
EXAMPLE = load(Job, JOB)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(EXAMPLE, STANDARD, OUTPUTS, BOOK)


def offered(plan: Plan, **options: object) -> Offered:
    return price_with(EXAMPLE, plan, QuoteOptions(**options), STANDARD, OUTPUTS, BOOK)  # type: ignore[arg-type]


def adds_up(price: Price, parts: Breakdown) -> None:
    groups = {
        group: sum(line.amount for line in price.lines if line.group == group)
        for group in ("materials", "labour")
    }
    assert sum(one.materials for one in parts.surfaces) == groups["materials"]
    assert sum(one.labour for one in parts.surfaces) == groups["labour"]
    assert sum(one.net for one in parts.surfaces) == price.net == parts.net
    assert parts.margin == parts.net - parts.materials_cost - parts.labour_cost


def test_without_options_the_plans_own_price_comes_out(plan: Plan) -> None:
    found = offered(plan)
    assert found.price == plan.price
    assert found.order_lines == plan.order_lines
    assert found.labour == plan.labour
    assert found.breakdown == plan.breakdown


def test_collars_by_the_other_trades_are_neither_bought_nor_fitted(plan: Plan) -> None:
    found = offered(plan, collars="by_others")
    assert any(line.kind == "collar" for line in plan.order_lines)
    assert not any(line.kind == "collar" for line in found.order_lines)
    assert not any(line.operation == "fit_collar" for line in found.labour.operations)
    assert found.price.net < plan.price.net


def test_insulation_blown_in_takes_more_staples(plan: Plan) -> None:
    def staples(lines: object) -> Decimal:
        return sum((line.needed for line in lines if line.kind == "staples"), Decimal(0))  # type: ignore[attr-defined]

    found = offered(plan, fixing="blown_in")
    assert staples(found.order_lines) > Decimal("1.5") * staples(plan.order_lines)
    again = dataclasses.replace(EXAMPLE, insulation="blown_in")
    assert found.order_lines == plan_job(again, STANDARD, OUTPUTS, BOOK).order_lines


def test_safe_hours_a_discount_and_access_change_the_price_as_the_rules_would(plan: Plan) -> None:
    rules = dataclasses.replace(
        BOOK.rules, hours_priced="safe", discount=Decimal("0.05"), access_charge=Decimal(240)
    )
    wanted = plan_job(EXAMPLE, STANDARD, OUTPUTS, dataclasses.replace(BOOK, rules=rules))
    found = offered(plan, hours="safe", discount=Decimal("0.05"), access_charge=Decimal(240))
    assert found.price == wanted.price
    assert found.breakdown == wanted.breakdown


@settings(max_examples=40)
@given(
    collars=st.sampled_from(("by_us", "by_others")),
    fixing=st.sampled_from(("as_surveyed", "in_place", "blown_in")),
    hours=st.sampled_from(("as_set", "likely", "safe")),
    discount=st.none() | st.decimals(0, 1, places=3),
    access_charge=st.none() | st.decimals(0, 5000, places=2),
)
def test_every_price_adds_up_by_line_and_by_surface(plan: Plan, **options: object) -> None:
    found = offered(plan, **options)
    price = found.price
    assert price.net == sum(line.amount for line in price.lines)
    assert price.total == price.net + sum(tax.amount for tax in price.tax)
    assert all(line.amount == line.amount.quantize(Decimal("0.01")) for line in price.lines)
    adds_up(price, found.breakdown)
    assert load(Breakdown, dump(found.breakdown)) == found.breakdown


def test_the_breakdown_follows_what_a_surface_needs(plan: Plan) -> None:
    assert plan.breakdown is not None
    north, east = plan.breakdown.surfaces  # the one with a window, pipe and cables is the longer one too
    assert north.hours > east.hours
    assert north.materials > east.materials
    assert sum(one.hours for one in plan.breakdown.surfaces) == plan.labour.likely_h
    assert sum(one.hours for one in plan.breakdown.operations) == plan.labour.likely_h


@pytest.mark.parametrize(
    ("options", "agreed"),
    [
        ({"fixing": "blown_in"}, {"insulation": "blown_in"}),
        ({"collars": "by_others"}, {"collars": "by_others"}),
        (
            {"fixing": "blown_in", "collars": "by_others"},
            {"insulation": "blown_in", "collars": "by_others"},
        ),
    ],
)
def test_the_plan_of_the_agreed_job_costs_what_the_choice_was_priced_at(
    plan: Plan, options: dict[str, object], agreed: dict[str, object]
) -> None:
    job = dataclasses.replace(EXAMPLE, **agreed)  # type: ignore[arg-type]
    planned = plan_job(job, STANDARD, OUTPUTS, BOOK)
    priced = offered(plan, **options)
    assert planned.layout.surfaces[0].strips == plan.layout.surfaces[0].strips
    assert planned.price == priced.price
    assert planned.order_lines == priced.order_lines
    assert planned.labour == priced.labour
    assert planned.breakdown == priced.breakdown
    again = price_with(job, planned, QuoteOptions(), STANDARD, OUTPUTS, BOOK)
    assert again.price == priced.price


def test_collars_that_others_bring_are_named_at_their_pipes_and_a_quote_may_still_offer_ours(
    plan: Plan,
) -> None:
    job = dataclasses.replace(EXAMPLE, collars="by_others")
    planned = plan_job(job, STANDARD, OUTPUTS, BOOK)
    assert planned.take_off.penetrations == plan.take_off.penetrations
    assert not any(one.item == "collar" for one in planned.take_off.quantities)
    ours = price_with(job, planned, QuoteOptions(collars="by_us"), STANDARD, OUTPUTS, BOOK)
    assert ours.price == plan.price
