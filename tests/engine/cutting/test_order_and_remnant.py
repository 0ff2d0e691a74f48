"""After the money: one long remnant, surfaces together, the same answer every time."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workers.engine.cutting import CannotBeCut, PieceToCut, Stock, cut

ROLL = Stock("m", 50_000, 1500, Decimal(120))


def pieces(lengths: list[int], each: int = 4) -> tuple[PieceToCut, ...]:
    return tuple(
        PieceToCut(f"p{i}", f"s{i // each}", "m", length, 1500, i) for i, length in enumerate(lengths)
    )


def test_what_is_left_over_is_one_long_remnant() -> None:
    result = cut(pieces([9000, 8000, 7000, 6000, 5000] * 4), (ROLL,))
    remnants = sorted(roll.remnant_mm for roll in result.rolls)
    assert result.rolls_opened == 3
    assert remnants == [0, 0, 10_000]


def test_equal_pieces_of_one_surface_come_from_one_roll() -> None:
    result = cut(pieces([5000] * 30, each=10), (ROLL,))
    for roll in result.rolls:
        assert len({name for one in roll.cuts for name in one.pieces}) == 10
        numbers = [int(name[1:]) for one in roll.cuts for name in one.pieces]
        assert numbers == list(range(numbers[0], numbers[0] + 10))


def test_rolls_and_cuts_are_in_laying_order() -> None:
    result = cut(pieces([7100, 3300, 9000, 4700, 2600, 8800, 5200] * 6), (ROLL,))
    firsts = []
    for roll in result.rolls:
        numbers = [int(one.pieces[0][1:]) for one in roll.cuts]
        assert numbers == sorted(numbers)
        firsts.append(numbers[0])
    assert firsts == sorted(firsts)


@given(st.lists(st.integers(5, 120), min_size=1, max_size=40), st.randoms(use_true_random=False))
def test_the_same_pieces_give_the_same_list_in_whatever_order_they_come(
    lengths: list[int], shuffle: object
) -> None:
    given_pieces = list(pieces([100 * length for length in lengths]))
    stock = (ROLL, Stock("m", 25_000, 1500, Decimal(65)), Stock("m", 6000, 1500, Decimal(0), 1, "offcut"))
    first = cut(tuple(given_pieces), stock)
    shuffle.shuffle(given_pieces)  # type: ignore[attr-defined]
    assert cut(tuple(given_pieces), stock) == first


def test_column_generation_gives_the_same_list_twice() -> None:
    lengths = [2600] * 45 + [7300] * 31 + [4350] * 27 + [3910] * 22
    assert cut(pieces(lengths), (ROLL,)) == cut(pieces(lengths), (ROLL,))


def test_limited_stock_that_is_too_little_is_refused() -> None:
    with pytest.raises(CannotBeCut, match="does not hold all its 3 pieces"):
        cut(pieces([9000, 9000, 9000]), (Stock("m", 10_000, 1500, Decimal(0), 2),))


def test_a_piece_wider_than_the_rolls_comes_from_the_wide_offcut() -> None:
    wide = PieceToCut("wide", "s", "m", 3000, 2000, 0)
    narrow = PieceToCut("narrow", "s", "m", 2500, 700, 1)
    offcut = Stock("m", 4000, 3000, Decimal(0), 1, "offcut")
    result = cut((narrow, wide), (ROLL, offcut))
    assert [
        one for roll in result.rolls if roll.width_mm == 3000 for one in roll.cuts if "wide" in one.pieces
    ]
    assert result.cost == Decimal(0)


def test_two_thousand_surfaces_end_with_a_plan_and_an_honest_gap() -> None:
    many = tuple(
        PieceToCut(
            f"p{i}", f"s{i // 4}", "m", 2000 + 100 * (i * 37 % 81), 1500 if i % 4 else 300 + i % 7 * 137, i
        )
        for i in range(8000)
    )
    result = cut(many, (ROLL,))
    area = sum(piece.length_mm * piece.width_mm for piece in many)
    assert (
        -(-area // (50_000 * 1500)) <= result.rolls_bound <= result.rolls_opened <= 1.02 * result.rolls_bound
    )
    assert sum(len(one.pieces) for roll in result.rolls for one in roll.cuts) == 8000


def test_very_narrow_pieces_fill_one_roll() -> None:
    many = tuple(PieceToCut(f"p{i}", "s", "m", 2500, 5, i) for i in range(2000))
    result = cut(many, (ROLL,))
    assert (result.rolls_opened, result.proven) == (1, True)


def test_the_solver_is_loaded_only_where_a_gap_is_left() -> None:
    program = (
        "import sys, workers.engine.cutting; sys.exit(any(m in sys.modules for m in ('numpy', 'highspy')))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
