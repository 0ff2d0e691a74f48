"""The take-off of real layouts: what must hold for any house."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.shape import dump, load
from api_schema.surface import EdgeFinish, Members, Opening, Penetration
from api_schema.take_off import TakeOff
from tests.engine.takeoff.samples import job_of, joined, rectangle, wall
from workers.engine.costs import costs_of
from workers.engine.cutting import cut_job
from workers.engine.labour import hours
from workers.engine.layout import lay_out
from workers.engine.packs import order, unbought
from workers.engine.pricing import price
from workers.engine.takeoff import measure

STANDARD, OUTPUTS, BOOK = default_standard(), default_outputs(), default_price_book()


@st.composite
def walls(draw, name):
    width, height = draw(st.integers(1500, 9000)), draw(st.integers(1200, 4000))
    left, bottom = draw(st.integers(100, width - 1000)), draw(st.sampled_from([0, 300, 600]))
    hole = rectangle(
        left,
        bottom,
        left + draw(st.integers(300, 900)),
        bottom + draw(st.integers(300, height - bottom - 100)),
    )
    openings = (Opening("o", "window", hole),) if draw(st.booleans()) else ()
    pipe = Penetration(
        "p",
        "pipe",
        (50, 50),
        draw(st.integers(5, 440)),
        free_end=draw(st.booleans()),
        count=draw(st.integers(1, 4)),
    )
    edges = tuple(
        EdgeFinish(edge, draw(st.sampled_from(["timber", "masonry", "slab", "frame"]))) for edge in (0, 2)
    )
    members = Members(draw(st.sampled_from(["up", "across"])), draw(st.sampled_from([400, 600])))
    return wall(
        name,
        rectangle(0, 0, width, height),
        openings=openings,
        penetrations=(pipe,),
        edges=edges,
        members=members,
    )


@given(st.tuples(walls("a"), walls("b")))
def test_the_figures_of_any_house_agree_with_one_another(pair):
    job = job_of(*pair, junctions=(joined("a", 1, "b", 3),))
    layout = lay_out(job, STANDARD, costs_of(BOOK, OUTPUTS, STANDARD, job))
    cut_list = cut_job(layout, BOOK, STANDARD)
    take_off = measure(job, layout, cut_list, STANDARD, BOOK)
    assert load(TakeOff, dump(take_off)) == take_off

    totals = take_off.totals
    assert totals.net_m2 <= totals.as_laid_m2 <= totals.as_bought_m2
    assert sum(one.as_bought_m2 for one in take_off.surfaces) == totals.as_bought_m2
    # all from new rolls here; each share is of four digits
    assert all(one.as_bought_m2 >= one.as_laid_m2 - Decimal("0.0001") for one in take_off.surfaces)
    assert abs(totals.gross_m2 - totals.deducted_m2 - totals.as_measured_m2) <= Decimal("0.0001")
    for quantity in take_off.quantities:
        parts = sum(part.quantity for part in quantity.from_)
        assert quantity.quantity > 0
        assert abs(parts - quantity.quantity) <= Decimal("0.0005") * len(quantity.from_) + (
            Decimal("0.1") if quantity.unit == "ml" else 0
        )

    amounts = {}
    for quantity in take_off.quantities:
        amounts[quantity.item] = amounts.get(quantity.item, 0) + quantity.quantity
    laps = [lap.length_m for surface in layout.surfaces for lap in surface.laps]
    assert amounts.get("lap", 0) == sum(laps)
    assert amounts["piece"] == sum(
        len(strip.pieces) for surface in layout.surfaces for strip in surface.strips
    )
    returning = [s.id for s in layout.surfaces for edge in s.edges if edge.role == "returns"]
    corner = next(quantity for quantity in take_off.quantities if quantity.item == "corner")
    assert [part.surface for part in corner.from_] == returning
    sealed = sum(sealing.count for sealing in take_off.penetrations)
    assert sealed == amounts.get("collar", 0) + amounts.get("captive", 0)

    lines = order(take_off, cut_list, BOOK, STANDARD)
    assert unbought(take_off, BOOK, STANDARD) == ()
    for product in {line.product for line in lines}:
        mine = [line for line in lines if line.product == product]
        got = sum(line.packs * line.pack_size + line.from_stock for line in mine)
        assert got >= sum(line.needed + line.waste for line in mine)

    labour = hours(job, layout, take_off, OUTPUTS)
    found = price(lines, labour, BOOK)
    assert found.net == sum(line.amount for line in found.lines)
    assert labour.likely_h < labour.safe_h
