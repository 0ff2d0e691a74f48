"""C: metres of round bead a cartridge gives, volume ÷ (π/4 · bead²): plain arithmetic anyone can redo.

310 ml: 4 mm 24.7 m, 5 mm 15.8, 6 mm 11.0, 8 mm 6.17, 10 mm 3.95; 600 ml at 8 mm 11.9.
"""

import dataclasses
from decimal import Decimal

import pytest

from api_schema.cut_list import CutList
from api_schema.defaults import default_price_book, default_standard
from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.price_book import Pack, Product
from api_schema.surface import EdgeFinish, Members, Surface
from workers.engine.packs import order
from workers.engine.takeoff import measure

YIELDS = [
    (310, 4, "24.7"),
    (310, 5, "15.8"),
    (310, 6, "11.0"),
    (310, 8, "6.17"),
    (310, 10, "3.95"),
    (600, 8, "11.9"),
]
NO_ROLLS = CutList((), 0, 0, Decimal(0), Decimal(0), True)
NO_LAYOUT = Layout((), Decimal(0), Decimal(0), True)


def sealant(bead_mm, length_mm, cartridge_ml):
    """Millilitres of bead, and cartridges bought without waste, for one edge on a slab."""
    wall = Surface(
        "wall", "wall", ((0, 0), (length_mm, 0), (length_mm, 2400), (0, 2400)), Members("up", 400),
        edges=(EdgeFinish(0, "slab"),),
    )  # fmt: skip
    standard = dataclasses.replace(default_standard(), bead_mm=bead_mm, bead_waste=Decimal(0))
    cartridge = Product(
        "sealant", "Sealant", "sealant", "example-supplies", "ml", (Pack(Decimal(cartridge_ml), Decimal(8)),)
    )
    book = dataclasses.replace(default_price_book(), products=(cartridge,))
    take_off = measure(Job("bead", (wall,)), NO_LAYOUT, NO_ROLLS, standard, book)
    (line,) = order(take_off, NO_ROLLS, book, standard)
    return next(q.quantity for q in take_off.quantities if q.item == "bead"), line.packs


@pytest.mark.parametrize(("cartridge_ml", "bead_mm", "metres"), YIELDS)
def test_a_cartridge_gives_the_metres_it_should(cartridge_ml, bead_mm, metres):
    millilitres, _ = sealant(bead_mm, 100_000, cartridge_ml)
    gives = 100 * cartridge_ml / millilitres
    last_digit = Decimal(1).scaleb(Decimal(metres).as_tuple().exponent)
    assert abs(gives - Decimal(metres)) <= last_digit / 2


@pytest.mark.parametrize(("cartridge_ml", "bead_mm", "metres"), YIELDS)
def test_one_cartridge_is_bought_up_to_its_yield_and_two_beyond(cartridge_ml, bead_mm, metres):
    yield_mm = int(Decimal(metres) * 1000)
    assert sealant(bead_mm, yield_mm * 99 // 100, cartridge_ml)[1] == 1
    assert sealant(bead_mm, yield_mm * 101 // 100, cartridge_ml)[1] == 2
