"""Whole jobs of sizes nobody should send end with a plan, or with a refusal that says what to do."""

import dataclasses
from decimal import Decimal

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.problem import SurveyFaults
from api_schema.surface import Members, Surface
from workers.engine.plan import plan_job


def flat(name: str, wide: int, high: int, direction: str = "up") -> Surface:
    return Surface(
        id=name, kind="wall", outline_mm=((0, 0), (wide, 0), (wide, high), (0, high)),
        members=Members(direction, 600),
    )  # fmt: skip


def with_rolls_of(metres: str) -> PriceBook:
    book = default_price_book()
    return dataclasses.replace(
        book,
        products=tuple(
            dataclasses.replace(
                one, packs=tuple(dataclasses.replace(pack, size=Decimal(metres)) for pack in one.packs)
            )
            if one.kind == "membrane"
            else one
            for one in book.products
        ),
    )


def planned(job: Job, book: PriceBook | None = None) -> Plan:
    return plan_job(job, default_standard(), default_outputs(), book or default_price_book())


def check(plan: Plan, job: Job) -> None:
    laid = sorted(piece.id for one in plan.layout.surfaces for strip in one.strips for piece in strip.pieces)
    assert sorted(name for roll in plan.cut_list.rolls for cut in roll.cuts for name in cut.pieces) == laid
    assert len(plan.layout.surfaces) == len(job.surfaces)
    assert plan.economy is not None
    assert 0 < plan.economy.bound <= plan.economy.cost


@pytest.mark.parametrize(
    "one",
    [
        flat("hall", 40_000, 9_000),
        flat("sliver", 5, 2_500),
        flat("long, odd angle", 60_000, 2_400, "37"),
    ],
    ids=lambda one: one.id,
)
def test_one_surface_of_an_absurd_size_is_planned(one: Surface) -> None:
    job = Job("T", (one,))
    check(planned(job), job)


def test_two_thousand_surfaces_are_planned_whole() -> None:
    job = Job("T", tuple(flat(f"w{i}", 3000 + i % 7, 2400) for i in range(2000)))
    check(planned(job), job)


def test_a_wall_longer_than_its_rolls_is_joined_from_several() -> None:
    job = Job("T", (flat("wall", 9_000, 2_500),))
    plan = planned(job, with_rolls_of("2"))
    check(plan, job)
    assert all(
        piece.cut_length_mm <= 2000
        for one in plan.layout.surfaces
        for strip in one.strips
        for piece in strip.pieces
    )


def test_rolls_shorter_than_an_end_lap_are_refused_in_words() -> None:
    with pytest.raises(SurveyFaults) as refusal:
        planned(Job("T", (flat("wall", 9_000, 2_500),)), with_rolls_of("0.09"))
    assert "longer roll" in refusal.value.faults[0].detail
