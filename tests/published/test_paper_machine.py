"""The textbook paper-machine example (P).

Master 5 600, thirteen sizes 1380×22, 1520×25, 1560×12, 1710×14, 1820×18, 1880×18, 1930×20, 2000×10, 2050×12,
2100×14, 2140×16, 2150×18, 2200×20: 73 masters is the optimum. Source: the worked example of the encyclopaedia
article on the cutting stock problem.
"""

from decimal import Decimal

from workers.engine.cutting import PieceToCut, Stock, cut

SIZES = {
    1380: 22,
    1520: 25,
    1560: 12,
    1710: 14,
    1820: 18,
    1880: 18,
    1930: 20,
    2000: 10,
    2050: 12,
    2100: 14,
    2140: 16,
    2150: 18,
    2200: 20,
}


def test_the_paper_machine_example_takes_73_masters_and_no_fewer() -> None:
    lengths = [length for length, count in SIZES.items() for _ in range(count)]
    assert (len(lengths), sum(lengths)) == (219, 407_160)
    pieces = tuple(PieceToCut(f"p{i}", "s", "paper", length, 1000, i) for i, length in enumerate(lengths))
    result = cut(pieces, (Stock("paper", 5600, 1000, Decimal(1)),))
    assert (result.rolls_opened, result.rolls_bound, result.proven) == (73, 73, True)
    assert sorted(name for roll in result.rolls for one in roll.cuts for name in one.pieces) == sorted(
        piece.id for piece in pieces
    )
    assert all(sum(one.length_mm for one in roll.cuts) <= 5600 for roll in result.rolls)
