"""Other good layouts of a surface, for whoever cuts the rolls: dearer by themselves, perhaps cheaper on the rolls."""

from __future__ import annotations

from workers.engine.layout.bands import runs_in
from workers.engine.layout.chain import cheapest_row, row_over
from workers.engine.layout.positions import likely_positions, wanted_positions
from workers.engine.layout.problem import Chain, Row
from workers.engine.layout.solve import Laid

_STARTS = 40  # lower edges of the first strip that are tried
_MANY = 2000


def others(laid: Laid) -> list[tuple[int, Row]]:
    """Rows of one direction whose pieces differ from one another, cheapest first.

    The cheapest row of all; the cheapest with the first strip at each position that may matter; and the cheapest
    of each membrane by itself.
    """
    chain = laid.chain
    rows: list[tuple[int, Row]] = [(laid.key, laid.row)]
    positions = sorted({*wanted_positions(chain), *likely_positions(chain)})
    if len(positions) <= _MANY:
        firsts = [position for position in positions if position <= chain.low]
        later = [position for position in positions if position > chain.low]
        found = [row_over(chain, [first, *later]) for first in firsts[-_STARTS:]]
        rows += [row for row in found if row is not None]
    if len(chain.products) > 1:
        rows += _one_membrane(chain)
    distinct: dict[object, tuple[int, Row]] = {}
    for key, row in sorted(rows, key=lambda found: found[0]):
        distinct.setdefault(_cuts(laid, row), (key, row))
    return list(distinct.values())


def _one_membrane(chain: Chain) -> list[tuple[int, Row]]:
    found = []
    for number, (product, prices) in enumerate(zip(chain.products, chain.bands, strict=True)):
        alone = Chain(
            prices.first, chain.low, chain.high, chain.gaps, chain.lap_mm, (product,), (prices,), chain.laps
        )
        row = cheapest_row(alone)
        if row is not None:
            found.append((row[0], tuple((position, number) for position, _ in row[1])))
    return found


def _cuts(laid: Laid, row: Row) -> object:
    """What a row takes from the rolls: product and lengths cut."""
    cuts = []
    for position, number in row:
        product = laid.chain.products[number]
        _, runs = runs_in(laid.region, product, laid.ends, position)
        cuts += [(number, product.cut_mm(stop - start)) for run in runs for start, stop in run.pieces]
    return tuple(sorted(cuts))
