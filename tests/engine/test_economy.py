"""Layout and rolls together: never dearer than one after the other, and the bound is one."""

import dataclasses
import json
from decimal import Decimal
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.price_book import Offcut, PriceBook
from api_schema.shape import load
from api_schema.surface import Members, Surface
from workers.engine.costs import costs_of
from workers.engine.cutting import cut_job
from workers.engine.economy import settle
from workers.engine.envelope import prepare
from workers.engine.layout import Laying, lay

DEMO = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"


def beside_membrane(layout: Layout, book: PriceBook) -> Decimal:
    prices = {
        one.product: one.price_per_m
        for one in costs_of(book, default_outputs(), default_standard()).membranes
    }
    membrane = sum(
        piece.cut_length_mm * prices[strip.product] / 1000
        for surface in layout.surfaces
        for strip in surface.strips
        for piece in strip.pieces
    )
    return layout.cost - Decimal(membrane)


def check_together(job: Job, book: PriceBook) -> None:
    usable, standard = prepare(job), default_standard()
    costs = costs_of(book, default_outputs(), standard, usable)
    laying = lay(usable, standard, costs)
    layout, cut_list, economy = settle(laying, costs, book, standard)
    plain = cut_job(laying.layout, book, standard).cost + beside_membrane(laying.layout, book)
    cent = Decimal("0.01") * (len(job.surfaces) + 1)  # each surface's cost is stated to the cent
    assert economy.cost <= plain + cent
    assert abs(economy.cost - cut_list.cost - beside_membrane(layout, book)) <= cent
    assert abs(plain - economy.cost - sum(one.rolls_save - one.dearer_by for one in economy.swaps)) <= cent
    assert economy.bound <= economy.cost
    check_bound_of_others(laying, economy.bound, book)
    assert [one.id for one in layout.surfaces] == [one.id for one in job.surfaces]
    laid = sorted(piece.id for one in layout.surfaces for strip in one.strips for piece in strip.pieces)
    assert sorted(name for roll in cut_list.rolls for cut in roll.cuts for name in cut.pieces) == laid


def check_bound_of_others(laying: Laying, bound: Decimal, book: PriceBook) -> None:
    """Surfaces laid otherwise, one at a time and all at once: none costs less than the bound, but for rounding."""
    surfaces = laying.layout.surfaces
    others = [laying.alternatives(one.id)[-1] for one in surfaces]
    tried = [(*surfaces[:at], other, *surfaces[at + 1 :]) for at, other in enumerate(others[:6])]
    for laid in (*tried, tuple(others)):
        layout = Layout(laid, sum((one.cost for one in laid), Decimal(0)), Decimal(0), proven=False)
        cost = cut_job(layout, book, default_standard()).cost + beside_membrane(layout, book)
        assert bound <= cost + Decimal("0.01") * (len(laid) + 1)


def test_the_demonstration_house_gains_a_roll() -> None:
    job = load(Job, json.loads(DEMO.read_text(encoding="utf-8")))
    book = default_price_book()
    check_together(job, book)
    usable, standard = prepare(job), default_standard()
    costs = costs_of(book, default_outputs(), standard, usable)
    laying = lay(usable, standard, costs)
    layout, cut_list, economy = settle(laying, costs, book, standard)
    assert cut_list.rolls_opened < cut_job(laying.layout, book, standard).rolls_opened
    reasons = {one.id: one.reason for one in layout.surfaces}
    assert economy.swaps
    assert all("rolls" in reasons[swap.surface] for swap in economy.swaps)


def rectangle(number: int, wide: int, high: int) -> Surface:
    return Surface(
        id=f"s{number}", kind="wall", outline_mm=((0, 0), (wide, 0), (wide, high), (0, high)),
        members=Members("up", 400),
    )  # fmt: skip


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(300, 9000), st.integers(300, 4000)), min_size=1, max_size=8),
    st.integers(0, 3),
)
def test_it_is_never_dearer_than_laying_and_cutting_one_after_the_other(
    sizes: list[tuple[int, int]], offcuts: int
) -> None:
    book = default_price_book()
    if offcuts:
        book = dataclasses.replace(book, offcuts=(Offcut("membrane-1500", 7300, 1500, offcuts),))
    check_together(Job("T", tuple(rectangle(n, *size) for n, size in enumerate(sizes))), book)


def test_a_job_that_needs_one_roll_and_no_lap_is_proven() -> None:
    job = Job("T", (rectangle(0, 8000, 1200), rectangle(1, 6000, 1300)))
    usable, standard, book = prepare(job), default_standard(), default_price_book()
    costs = costs_of(book, default_outputs(), standard, usable)
    _, cut_list, economy = settle(lay(usable, standard, costs), costs, book, standard)
    assert cut_list.rolls_opened == 1
    assert (economy.proven, economy.bound) == (True, economy.cost)
