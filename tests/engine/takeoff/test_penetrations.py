"""How penetrations are sealed."""

import dataclasses
import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.defaults import default_price_book, default_standard
from api_schema.price_book import Pack, Product
from api_schema.surface import Penetration
from workers.engine.takeoff.penetrations import seal, smallest_collar, tape_pieces

BOOK, STANDARD = default_price_book(), default_standard()


def sealed(kind="pipe", diameter=110, **more):
    return seal("north", Penetration("p1", kind, (0, 0), diameter, **more), BOOK, STANDARD)


def collar(code, smallest, largest, price="5.00"):
    return Product(
        code, code, "collar", "example-supplies", "piece", (Pack(Decimal(1), Decimal(price)),),
        smallest_mm=smallest, largest_mm=largest,
    )  # fmt: skip


@given(st.integers(4, 450))
def test_every_size_with_a_free_end_takes_a_collar_that_holds_it(diameter):
    found = sealed(diameter=diameter, free_end=True)
    product = next(p for p in BOOK.products if p.code == found.product)
    assert found.method == "collar"
    assert product.smallest_mm <= diameter <= product.largest_mm
    assert found.tape_m == 0  # collars bring their own tape


def test_the_smallest_collar_that_holds_it_is_taken_then_the_cheapest():
    products = (
        collar("wide", 50, 200),
        collar("dear", 100, 120, "9.00"),
        collar("cheap", 90, 120),
        collar("no", 1, 99),
    )
    assert smallest_collar(products, 110).code == "cheap"
    assert smallest_collar(products, 121).code == "wide"
    assert smallest_collar(products, 300) is None


def test_a_captive_pipe_is_taped_in_short_strips():
    """C: ceil(π · 110 ÷ (60 − 10)) = 7 pieces of 150 mm."""
    found = sealed()
    assert (found.method, found.tape_pieces, found.tape_piece_mm) == ("taped", 7, 150)
    assert found.tape_m == Decimal("1.05")


def test_alike_ones_are_multiplied():
    found = sealed(count=4)
    assert (found.count, found.tape_m) == (4, Decimal("4.20"))


def test_a_pipe_no_collar_fits_is_taped_and_says_so():
    found = sealed(diameter=600, free_end=True)
    assert found.method == "taped"
    assert found.note == "no collar in the price book fits 600 mm: taped"


def test_a_section_takes_its_perimeter_and_four_corner_pieces():
    """C: 2 × (70 + 220) + 4 × 150 = 1180 mm."""
    found = sealed("timber", None, width_mm=70, height_mm=220, count=2)
    assert (found.method, found.tape_pieces, found.tape_m) == ("section_taped", 4, Decimal("2.36"))


def test_a_rectangular_duct_is_taped_as_a_section_even_with_a_free_end():
    assert sealed("duct", None, width_mm=200, height_mm=60, free_end=True).method == "section_taped"


@pytest.mark.parametrize("free_end", [True, False])
@pytest.mark.parametrize("diameter", [100, 150, 600])
def test_no_flue_is_ever_sealed_with_collar_or_tape(diameter, free_end):
    found = sealed("flue", diameter, free_end=free_end)
    assert found.method == "non_combustible"
    assert (found.product, found.tape_pieces, found.tape_m) == (None, 0, 0)
    assert "competent person" in found.note


@given(st.integers(1, 2000), st.integers(30, 300), st.integers(0, 29))
def test_the_pieces_go_round_and_one_fewer_would_not(diameter, width, overlap):
    pieces = tape_pieces(diameter, width, overlap)
    assert pieces * (width - overlap) >= math.pi * diameter
    assert (pieces - 1) * (width - overlap) < math.pi * diameter


def test_a_tape_no_wider_than_its_overlap_is_refused():
    standard = dataclasses.replace(STANDARD, captive_tape_overlap_mm=50)
    tapes = dataclasses.replace(
        BOOK,
        products=tuple(
            dataclasses.replace(p, width_mm=50) if p.kind == "lap_tape" else p for p in BOOK.products
        ),
    )
    with pytest.raises(ValueError, match="captive_tape_overlap_mm"):
        seal("north", Penetration("p1", "pipe", (0, 0), 110), tapes, standard)


def test_the_narrowest_lap_tape_decides_so_that_the_pieces_suffice_whichever_is_bought():
    wider = dataclasses.replace(BOOK.products[0], code="tape-100", kind="lap_tape", width_mm=100)
    book = dataclasses.replace(BOOK, products=(*BOOK.products, wider))
    assert seal("north", Penetration("p1", "pipe", (0, 0), 110), book, STANDARD).tape_pieces == 7
