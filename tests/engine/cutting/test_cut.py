"""A cut list holds what was asked, fits its rolls, and its bound is a bound."""

from collections import Counter
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.cut_list import CutList, Roll
from workers.engine.cutting import CannotBeCut, PieceToCut, Stock, cut

WIDTHS = (150, 375, 500, 700, 750, 1000, 1500)


def piece(number: int, length: int, width: int = 1500, product: str = "membrane-1500") -> PieceToCut:
    return PieceToCut(f"p{number}", f"surface-{number // 4}", product, length, width, number)


def roll(length: int, price: str, width: int = 1500, on_hand: int | None = None) -> Stock:
    return Stock("membrane-1500", length, width, Decimal(price), on_hand)


def offcut(length: int, width: int, count: int = 1) -> Stock:
    return Stock("membrane-1500", length, width, Decimal(0), count, "offcut")


@st.composite
def cutting_tasks(draw: st.DrawFn) -> tuple[tuple[PieceToCut, ...], tuple[Stock, ...]]:
    step = draw(st.sampled_from([1, 10, 100]))
    narrow = draw(st.booleans())
    sizes = draw(
        st.lists(
            st.tuples(
                st.integers(300 // step, 12_000 // step), st.sampled_from(WIDTHS if narrow else (1500,))
            ),
            min_size=1,
            max_size=30,
        )
    )
    stock = [roll(draw(st.sampled_from([25_000, 50_000])), "120")]
    if draw(st.booleans()):
        stock.append(roll(20_000, "55.50"))
    if draw(st.booleans()):
        stock.append(roll(30_000, "0", on_hand=draw(st.integers(0, 3))))
    for _ in range(draw(st.integers(0, 3))):
        stock.append(
            offcut(
                draw(st.integers(500, 15_000)),
                draw(st.sampled_from([400, 800, 1500])),
                draw(st.integers(1, 2)),
            )
        )
    return tuple(piece(i, length * step, width) for i, (length, width) in enumerate(sizes)), tuple(stock)


def check_roll(roll: Roll, by_id: dict[str, PieceToCut]) -> list[str]:
    """Every rule of one roll; returns the pieces cut from it."""
    at, cut_here = 0, []
    for one in roll.cuts:
        assert one.at_mm == at
        at += one.length_mm
        lanes = [(lane.width_mm, lane.pieces) for lane in one.lanes] or [(roll.width_mm, one.pieces)]
        assert sum(width for width, _ in lanes) <= roll.width_mm
        assert sorted(name for _, names in lanes for name in names) == sorted(one.pieces)
        for width, names in lanes:
            assert all(by_id[name].width_mm <= width for name in names)
            assert sum(by_id[name].length_mm for name in names) <= one.length_mm
        cut_here.extend(one.pieces)
    assert roll.remnant_mm == roll.length_mm - at >= 0
    return cut_here


def check_list(pieces: tuple[PieceToCut, ...], stock: tuple[Stock, ...], result: CutList) -> None:
    by_id = {one.id: one for one in pieces}
    names: list[str] = []
    for number, one in enumerate(result.rolls, start=1):
        assert one.roll == number
        assert all(by_id[name].product == one.product for each in one.cuts for name in each.pieces)
        names.extend(check_roll(one, by_id))
    assert sorted(names) == sorted(by_id)
    used = Counter((one.product, one.length_mm, one.width_mm) for one in result.rolls if one.from_stock)
    there = Counter[tuple[str, int, int]]()
    for have in stock:
        there[have.product, have.length_mm, have.width_mm] += have.on_hand or 0
    assert all(many <= there[size] for size, many in used.items())
    assert result.cost_bound <= result.cost
    assert result.rolls_bound <= result.rolls_opened
    if result.proven:
        assert (result.cost, result.rolls_opened) == (result.cost_bound, result.rolls_bound)


def first_fit_decreasing(lengths: list[int], room: int) -> int:
    rolls: list[int] = []
    for length in sorted(lengths, reverse=True):
        for number, left in enumerate(rolls):
            if left >= length:
                rolls[number] -= length
                break
        else:
            rolls.append(room - length)
    return len(rolls)


@given(cutting_tasks())
def test_every_piece_is_cut_exactly_once_and_no_roll_is_overfull(
    task: tuple[tuple[PieceToCut, ...], tuple[Stock, ...]],
) -> None:
    pieces, stock = task
    check_list(pieces, stock, cut(pieces, stock, 1000))


@given(st.lists(st.integers(300, 12_000), min_size=1, max_size=60))
def test_never_more_rolls_than_first_fit_decreasing(lengths: list[int]) -> None:
    result = cut(tuple(piece(i, length) for i, length in enumerate(lengths)), (roll(25_000, "70"),), 1000)
    assert result.rolls_opened <= first_fit_decreasing(lengths, 25_000)
    assert result.cost == 70 * result.rolls_opened


def test_offcuts_on_hand_come_before_new_rolls() -> None:
    pieces = tuple(piece(i, 4000) for i in range(13))
    result = cut(pieces, (roll(50_000, "120"), offcut(4500, 1500)), 1000)
    assert result.cost == Decimal(120)
    assert [one.from_stock for one in result.rolls].count(True) == 1
    assert result.proven


def test_two_short_rolls_are_bought_where_they_cost_less_than_a_long_one() -> None:
    pieces = tuple(piece(i, 5000) for i in range(10))
    result = cut(pieces, (roll(50_000, "120"), roll(25_000, "55")), 1000)
    assert (result.cost, result.rolls_opened, result.proven) == (Decimal(110), 2, True)


def test_narrow_pieces_lie_side_by_side() -> None:
    pieces = (piece(0, 6000, 700), piece(1, 6000, 800), piece(2, 4000, 1500))
    result = cut(pieces, (roll(10_000, "30"),), 1000)
    assert result.rolls_opened == 1
    assert [len(one.lanes) for one in result.rolls[0].cuts] == [2, 0]


def test_pieces_are_cut_from_their_own_product_only() -> None:
    stock = (roll(50_000, "120"), Stock("other", 50_000, 1500, Decimal(80)))
    pieces = (piece(0, 4000), piece(1, 4000, product="other"))
    result = cut(pieces, stock, 1000)
    assert [one.product for one in result.rolls] == ["membrane-1500", "other"]
    assert result.cost == Decimal(200)


def test_a_remnant_and_a_ripped_off_width_are_kept_where_long_and_wide_enough() -> None:
    result = cut((piece(0, 6000, 900), piece(1, 3000, 1400)), (roll(20_000, "50"),), 2000)
    assert [(one.length_mm, one.width_mm, one.roll) for one in result.kept] == [
        (6000, 600, 1),
        (11_000, 1500, 1),
    ]


@pytest.mark.parametrize(
    ("length", "width", "words"),
    [
        (60_000, 1500, "longer than every roll"),
        (2000, 1600, "wider than every roll"),
        (30_000, 1500, "fits no single"),
    ],
)
def test_a_piece_no_roll_can_give_is_refused_by_name(length: int, width: int, words: str) -> None:
    stock = (roll(25_000, "70"), roll(50_000, "90", width=1000))
    with pytest.raises(CannotBeCut, match=words) as refusal:
        cut((piece(0, 2000), piece(1, length, width)), stock, 1000)
    assert refusal.value.pieces == ("p1",)
    assert "p1" in str(refusal.value)


def test_no_pieces_give_an_empty_list() -> None:
    result = cut((), (roll(50_000, "120"),), 1000)
    assert (result.rolls, result.cost, result.proven) == ((), Decimal(0), True)
