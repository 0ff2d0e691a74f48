"""What is bought for a take-off."""

import dataclasses
import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.cut_list import Cut, CutList, Roll
from api_schema.defaults import default_price_book, default_standard
from api_schema.price_book import Pack, PriceBreak, Product
from api_schema.take_off import Quantity
from tests.engine.takeoff.samples import cut_list_of, job_of, layout_of, sample_layout, sample_wall
from workers.engine.packs import order, unbought
from workers.engine.takeoff import measure

STANDARD, BOOK = default_standard(), default_price_book()
LAYOUT = layout_of(sample_layout())
CUT_LIST = cut_list_of(LAYOUT)
TAKE_OFF = measure(job_of(sample_wall()), LAYOUT, CUT_LIST, STANDARD, BOOK)
NO_ROLLS = CutList((), 0, 0, Decimal(0), Decimal(0), True)


def ordered(take_off=TAKE_OFF, book=BOOK, cut_list=CUT_LIST, standard=STANDARD):
    return order(take_off, cut_list, book, standard)


def only(item, quantity, unit="m", product=None):
    return dataclasses.replace(TAKE_OFF, quantities=(Quantity(item, Decimal(quantity), unit, (), product),))


def book_of(*products):
    return dataclasses.replace(BOOK, products=products)


def tape(code="tape", packs=(("30", "18"),), supplier="example-supplies", on_hand="0"):
    made = tuple(Pack(Decimal(size), Decimal(price)) for size, price in packs)
    return Product(code, code, "lap_tape", supplier, "m", made, width_mm=60, on_hand=Decimal(on_hand))


def test_everything_measured_is_bought_in_full():
    lines = ordered()
    for product in {line.product for line in lines}:
        mine = [line for line in lines if line.product == product]
        got = sum(line.packs * line.pack_size for line in mine) + sum(line.from_stock for line in mine)
        assert got >= sum(line.needed + line.waste for line in mine)
    assert [line.kind for line in lines] == [
        "membrane", "lap_tape", "frame_tape", "collar", "sealant", "primer", "staples",
    ]  # fmt: skip


def test_all_joints_but_frames_are_made_with_one_lap_tape():
    tape_line = next(line for line in ordered() if line.kind == "lap_tape")
    items = ("lap_tape", "timber_edge_tape", "captive_tape", "section_tape")
    assert tape_line.needed == sum(q.quantity for q in TAKE_OFF.quantities if q.item in items)


def test_every_line_is_packs_times_price():
    assert all(line.price == line.packs * line.pack_price for line in ordered())


def test_waste_is_added_to_tape_and_sealant_gives_less_than_it_holds():
    """T: tape × (1 + 5 %); sealant ÷ (1 − 10 %)."""
    (line,) = ordered(only("lap_tape", 100), cut_list=NO_ROLLS)
    assert line.waste == 5
    (line,) = ordered(only("bead", 279, "ml"), cut_list=NO_ROLLS)
    assert (line.needed + line.waste, line.packs) == (310, 1)
    (line,) = ordered(
        only("bead", "279.1", "ml"), book_of(*(p for p in BOOK.products if p.code == "sealant-310")), NO_ROLLS
    )
    assert line.packs == 2


def test_staples_are_counted_whole():
    (line,) = ordered(only("staples", 4763, "piece"), cut_list=NO_ROLLS)
    assert line.waste == 239  # 238.15
    assert line.packs == 2


def test_stock_on_hand_is_used_first():
    book = book_of(tape(on_hand="80"))
    (line,) = ordered(only("lap_tape", 100), book, NO_ROLLS)
    assert (line.from_stock, line.packs) == (80, 1)


def test_what_stock_covers_is_not_bought_and_still_listed():
    (line,) = ordered(only("lap_tape", 100), book_of(tape(on_hand="500")), NO_ROLLS)
    assert (line.from_stock, line.packs, line.price) == (105, 0, 0)


def test_the_supplier_whose_packs_cost_less_is_chosen_for_this_quantity():
    near, far = tape("near", (("30", "18"),)), tape("far", (("300", "120"),), "example-trade-counter")
    book = book_of(near, far)
    assert {line.product for line in ordered(only("lap_tape", 50), book, NO_ROLLS)} == {"near"}
    assert {line.product for line in ordered(only("lap_tape", 250), book, NO_ROLLS)} == {"far"}


def test_a_price_that_has_ended_is_taken_only_where_there_is_no_other():
    ended = dataclasses.replace(
        tape("ended", (("30", "10"),)),
        packs=(Pack(Decimal(30), Decimal(10), valid_until=datetime.date(2026, 6, 30)),),
    )
    today = {"as_of": datetime.date(2026, 11, 25)}

    def bought(*products):
        book = dataclasses.replace(book_of(*products), **today)
        return [line.product for line in ordered(only("lap_tape", "80"), book, NO_ROLLS)]

    assert bought(ended, tape("dearer")) == ["dearer"]
    assert bought(ended) == ["ended"]
    in_store = dataclasses.replace(ended, on_hand=Decimal(100))  # nothing is bought at the old price
    assert bought(in_store, tape("dearer")) == ["ended"]


def test_stock_counts_when_suppliers_are_compared():
    book = book_of(tape("bought", (("30", "1"),)), tape("on-hand", (("30", "18"),), on_hand="200"))
    assert {line.product for line in ordered(only("lap_tape", 100), book, NO_ROLLS)} == {"on-hand"}


def test_a_mix_of_pack_sizes_has_a_line_each_and_its_need_once():
    lines = ordered(only("lap_tape", 340), book_of(tape(packs=(("30", "18"), ("300", "165")))), NO_ROLLS)
    assert [(line.packs, line.pack_size) for line in lines] == [(2, 30), (1, 300)]
    assert [line.needed for line in lines] == [340, 0]


def test_frames_are_taped_with_lap_tape_where_there_is_no_frame_tape():
    take_off = dataclasses.replace(
        TAKE_OFF,
        quantities=(Quantity("lap_tape", Decimal(10), "m"), Quantity("frame_tape", Decimal(15), "m")),
    )
    (line,) = ordered(take_off, book_of(tape()), NO_ROLLS)
    assert line.needed == 25


def test_sealant_sold_by_the_cartridge_is_turned_into_millilitres():
    sealant = Product(
        "by-piece", "Sealant", "sealant", "example-supplies", "piece", (Pack(Decimal(12), Decimal(80)),),
        millilitres=Decimal(310), on_hand=Decimal(2),
    )  # fmt: skip
    (line,) = ordered(only("bead", 3000, "ml"), book_of(sealant), NO_ROLLS)
    assert (line.unit, line.pack_size, line.from_stock, line.packs) == ("ml", 3720, 620, 1)


def test_the_collar_the_take_off_chose_is_the_one_bought():
    (line,) = ordered(only("collar", 13, "piece", "collar-4-11"), cut_list=NO_ROLLS)
    assert (line.product, line.packs, line.waste) == ("collar-4-11", 2, 0)


def test_membrane_comes_as_the_rolls_that_are_cut():
    line = next(line for line in ordered() if line.kind == "membrane")
    assert (line.packs, line.pack_size, line.needed) == (1, 50, Decimal("12.6"))


def test_membrane_from_stock_is_not_bought():
    line = next(
        line for line in ordered(cut_list=cut_list_of(LAYOUT, from_stock=True)) if line.kind == "membrane"
    )
    assert (line.packs, line.from_stock, line.price) == (0, Decimal("12.6"), 0)


def test_a_narrow_offcut_counts_for_its_share_of_the_width():
    offcut = Roll(1, "membrane-1500", 8000, 750, True, (Cut(0, 6000, ("north/1a",)),), 2000)
    (line,) = ordered(
        dataclasses.replace(TAKE_OFF, quantities=()), cut_list=dataclasses.replace(NO_ROLLS, rolls=(offcut,))
    )
    assert (line.needed, line.from_stock, line.packs) == (3, 3, 0)


def test_one_more_roll_is_bought_where_the_price_for_quantity_makes_it_cheaper():
    roll = Product(
        "membrane-1500", "Membrane", "membrane", "example-supplies", "m",
        (Pack(Decimal(50), Decimal(120), (PriceBreak(6, Decimal(90)),)),), width_mm=1500,
    )  # fmt: skip
    rolls = tuple(Roll(number, "membrane-1500", 50_000, 1500, False, (), 0) for number in range(5))
    (line,) = ordered(
        dataclasses.replace(TAKE_OFF, quantities=()),
        book_of(roll),
        dataclasses.replace(NO_ROLLS, rolls=rolls),
    )
    assert (line.packs, line.price) == (6, 540)


def test_of_two_prices_for_one_roll_the_lower_is_paid():
    code = CUT_LIST.rolls[0].product
    usual = next(product for product in BOOK.products if product.code == code)
    size = Decimal(CUT_LIST.rolls[0].length_mm) / 1000
    twice = dataclasses.replace(usual, packs=(Pack(size, Decimal(120)), Pack(size, Decimal(100))))
    others = (product for product in BOOK.products if product.code != code)
    lines = [line for line in ordered(book=book_of(twice, *others)) if line.product == code]
    assert [(line.packs, line.pack_price) for line in lines] == [(len(CUT_LIST.rolls), Decimal(100))]


def test_a_line_is_rounded_to_the_currencys_minor_unit():
    fine = tape(packs=(("30", "12.345"),))
    (line,) = ordered(only("lap_tape", "80"), book_of(fine), NO_ROLLS)  # 84 m with waste
    assert (line.packs, line.pack_price, str(line.price)) == (3, Decimal("12.345"), "37.04")  # 37.035
    yen = dataclasses.replace(book_of(fine), currency="JPY")
    assert [str(line.price) for line in ordered(only("lap_tape", "80"), yen, NO_ROLLS)] == ["37"]


def test_a_roll_nobody_sells_is_refused_by_name():
    odd = dataclasses.replace(NO_ROLLS, rolls=(Roll(1, "membrane-1500", 33_000, 1500, False, (), 0),))
    with pytest.raises(ValueError, match="33000 mm"):
        ordered(cut_list=odd)


def test_a_membrane_that_is_not_in_the_price_book_is_refused_by_name():
    with pytest.raises(ValueError, match="membrane-1500"):
        ordered(book=book_of(tape()))


def test_what_the_price_book_cannot_provide_is_named():
    assert unbought(TAKE_OFF, BOOK, STANDARD) == ()
    assert unbought(TAKE_OFF, book_of(tape()), STANDARD) == ("collar", "sealant", "primer", "staples")


@given(needed=st.integers(1, 50_000).map(lambda tenths: Decimal(tenths) / 10), on_hand=st.integers(0, 2000))
def test_whatever_is_needed_is_covered_and_never_by_a_pack_too_many(needed, on_hand):
    book = book_of(
        tape("a", (("30", "18"), ("300", "165")), on_hand=str(on_hand)), tape("b", (("25", "15.5"),))
    )
    lines = ordered(only("lap_tape", needed), book, NO_ROLLS)
    wanted = needed + lines[0].waste
    got = lines[0].from_stock + sum(line.packs * line.pack_size for line in lines)
    assert got >= wanted
    for line in lines:
        if line.packs:
            assert got - line.pack_size < wanted  # any pack less would leave a gap
