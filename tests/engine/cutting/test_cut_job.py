"""A job's pieces come from its layout, its stock from the price book."""

from decimal import Decimal

import pytest

from api_schema.layout import Layout, Piece, Strip, SurfaceLayout
from api_schema.price_book import Offcut, Pack, PriceBook, Product
from api_schema.standard import Standard
from workers.engine.cutting import CannotBeCut, cut_job


def surface(name: str, lengths: list[int], width: int = 1500) -> SurfaceLayout:
    strips = tuple(
        Strip(
            id=f"{name}/{number}",
            product="membrane-1500",
            from_mm=0,
            to_mm=1500,
            pieces=(Piece(f"{name}/{number}a", 0, length, length, width),),
        )
        for number, length in enumerate(lengths, start=1)
    )
    nothing = Decimal(0)
    return SurfaceLayout(name, "across_members", "across", nothing, nothing, True, strips, (), ())


def layout(*surfaces: SurfaceLayout) -> Layout:
    return Layout(tuple(surfaces), Decimal(0), Decimal(0), True)


def book(on_hand: str = "0", offcuts: tuple[Offcut, ...] = ()) -> PriceBook:
    packs = (Pack(Decimal(50), Decimal("120.00")), Pack(Decimal(25), Decimal("65.00")))
    membrane = Product(
        "membrane-1500",
        "Example membrane",
        "membrane",
        "example-supplies",
        "m",
        packs,
        1500,
        on_hand=Decimal(on_hand),
    )
    unused = Product(
        "tape", "Example tape", "lap_tape", "example-supplies", "m", (Pack(Decimal(30), Decimal(9)),), 60
    )
    return PriceBook((membrane, unused), (), offcuts=offcuts)


def test_every_pack_is_a_roll_and_the_cheapest_mix_is_bought() -> None:
    result = cut_job(layout(surface("a", [6000] * 10)), book(), Standard())
    assert sorted((roll.length_mm, roll.from_stock) for roll in result.rolls) == [
        (25_000, False),
        (50_000, False),
    ]
    assert (result.cost, result.cost_bound, result.proven) == (Decimal("185.00"), Decimal("185.00"), True)


def test_whole_rolls_and_offcuts_on_hand_are_used_before_any_is_bought() -> None:
    stock = book(on_hand="99.5", offcuts=(Offcut("membrane-1500", 6500, 1500), Offcut("other", 9000, 1500)))
    result = cut_job(layout(surface("a", [6000] * 9)), stock, Standard())
    assert sorted(roll.length_mm for roll in result.rolls) == [6500, 50_000]
    assert all(roll.from_stock for roll in result.rolls)
    assert (result.cost, result.rolls_opened, result.proven) == (Decimal(0), 1, True)


def test_pieces_keep_their_names_and_what_is_left_is_kept_by_the_standard() -> None:
    result = cut_job(
        layout(surface("a", [6000]), surface("b", [4000], 700)), book(), Standard(keep_remnant_mm=4000)
    )
    assert [one.pieces for roll in result.rolls for one in roll.cuts] == [("a/1a",), ("b/1a",)]
    assert [(one.length_mm, one.width_mm) for one in result.kept] == [(4000, 800), (15_000, 1500)]


def test_a_piece_longer_than_every_roll_is_refused_with_what_to_do() -> None:
    with pytest.raises(CannotBeCut, match=r"a/1a, 60000 mm long .* handled length"):
        cut_job(layout(surface("a", [60_000])), book(), Standard())


def test_a_membrane_that_is_not_in_the_price_book_is_refused() -> None:
    empty = PriceBook((), ())
    with pytest.raises(CannotBeCut, match="no roll of it"):
        cut_job(layout(surface("a", [6000])), empty, Standard())


def test_a_job_without_pieces_needs_no_roll() -> None:
    assert cut_job(layout(), book(), Standard()).rolls == ()
