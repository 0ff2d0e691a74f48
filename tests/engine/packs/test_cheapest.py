"""The cheapest mix of packs is proven against trying every mix."""

import itertools
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.price_book import Pack, PriceBreak
from workers.engine.packs.cheapest import cheapest_packs, pack_price


def pack(size, price, *breaks):
    return Pack(
        Decimal(size), Decimal(price), tuple(PriceBreak(count, Decimal(each)) for count, each in breaks)
    )


def money(packs, counts):
    return sum(count * pack_price(one, count) for one, count in zip(packs, counts, strict=True))


def covered(packs, counts):
    return sum(count * one.size for one, count in zip(packs, counts, strict=True))


def cheapest_by_trying_all(packs, amount):
    """Least money over every mix of up to enough packs of each size alone, or up to its last break."""
    ranges = []
    for one in packs:
        enough = int(amount // one.size) + 1
        ranges.append(range(max([enough, *(step.from_packs for step in one.breaks)]) + 1))
    mixes = (mix for mix in itertools.product(*ranges) if covered(packs, mix) >= amount)
    return min(money(packs, mix) for mix in mixes)


prices = st.integers(0, 3000).map(lambda cents: Decimal(cents) / 100)
sizes = st.integers(1, 60).map(lambda tenths: Decimal(tenths) / 2)
price_breaks = st.lists(st.builds(PriceBreak, st.integers(2, 12), prices), max_size=2).map(tuple)


@given(
    packs=st.lists(st.builds(Pack, sizes, prices, price_breaks), min_size=1, max_size=3),
    part=st.integers(0, 1000).map(lambda thousandths: Decimal(thousandths) / 1000),
)
@settings(max_examples=300)
def test_no_mix_of_packs_is_cheaper(packs, part):
    amount = part * 8 * min(one.size for one in packs)
    counts = cheapest_packs(packs, amount)
    assert covered(packs, counts) >= amount
    if amount > 0:
        assert money(packs, counts) == cheapest_by_trying_all(packs, amount)


@given(
    packs=st.lists(st.builds(Pack, sizes, prices, price_breaks), min_size=1, max_size=2),
    part=st.integers(1, 1000).map(lambda thousandths: Decimal(thousandths) / 1000),
)
@settings(max_examples=100)
def test_no_mix_is_cheaper_where_many_packs_are_needed(packs, part):
    amount = part * 60 * min(one.size for one in packs)
    counts = cheapest_packs(packs, amount)
    assert covered(packs, counts) >= amount
    assert money(packs, counts) == cheapest_by_trying_all(packs, amount)


def test_packs_of_one_price_by_the_unit_cover_an_amount_exactly_where_they_can():
    packs = (pack(30, "18"), pack(31, "18.6"), pack(37, "22.2"))
    assert covered(packs, cheapest_packs(packs, Decimal(14_999))) == 14_999


def test_large_and_small_packs_are_mixed():
    packs = (pack(30, "18.00"), pack(300, "165.00"))
    assert cheapest_packs(packs, Decimal(340)) == (2, 1)


def test_buying_more_is_chosen_where_a_price_for_quantity_makes_it_cheaper():
    assert cheapest_packs((pack(30, "18.00", (10, "15.00")),), Decimal(265)) == (
        10,
    )  # 9 cost 162, 10 cost 150
    assert cheapest_packs((pack(30, "18.00", (10, "15.00")),), Decimal(240)) == (8,)  # 144


def test_a_break_is_used_from_its_count_on_and_the_highest_reached_counts():
    one = pack(1, "10", (20, "7"), (5, "9"))
    assert [pack_price(one, count) for count in (1, 4, 5, 19, 20, 50)] == [10, 10, 9, 9, 7, 7]


def test_of_equal_money_the_mix_that_covers_more_then_has_fewer_packs_is_taken():
    assert cheapest_packs((pack(10, "5"), pack(12, "5")), Decimal(9)) == (0, 1)
    assert cheapest_packs((pack(10, "5"), pack(20, "10")), Decimal(20)) == (0, 1)


def test_nothing_is_bought_for_nothing():
    assert cheapest_packs((pack(10, "5"),), Decimal(0)) == (0,)
    assert cheapest_packs((), Decimal(-1)) == ()


def test_an_amount_without_packs_is_refused():
    with pytest.raises(ValueError, match="no packs"):
        cheapest_packs((), Decimal(1))


def test_an_absurdly_small_pack_is_refused_instead_of_counted_out():
    with pytest.raises(ValueError, match="check the pack sizes"):
        cheapest_packs((pack("0.001", "1"),), Decimal(50_000))


def test_amounts_that_just_fit_do_not_need_another_pack():
    assert cheapest_packs((pack("0.1", "1"),), Decimal("0.3")) == (3,)
    assert cheapest_packs((pack("0.1", "1"),), Decimal("0.3000001")) == (4,)


def test_a_very_large_amount_is_covered_with_twenty_sizes():
    packs = [
        pack(7 + 13 * step, Decimal(5 + 8 * step), (10 + step, Decimal(4 + 8 * step))) for step in range(20)
    ]
    amount = Decimal(30_000)
    counts = cheapest_packs(packs, amount)
    least_rate = min(step.price / one.size for one in packs for step in one.breaks)
    assert covered(packs, counts) >= amount
    assert (
        amount * least_rate <= money(packs, counts) <= amount * least_rate + max(one.price for one in packs)
    )
