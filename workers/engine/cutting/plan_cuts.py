"""The way through: pieces and stock in, a cut list out."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from decimal import Decimal

from api_schema.cut_list import CutList, KeptOffcut, Roll
from workers.engine.cutting.cut_list import Opened, kept_offcuts, name_pieces, roll_record
from workers.engine.cutting.laying_order import in_laying_order
from workers.engine.cutting.lengths import OutOfStock
from workers.engine.cutting.pairs import at_their_least, in_pairs, without_needless_pairs
from workers.engine.cutting.problem import Source
from workers.engine.cutting.product import fewest_rolls, solve_product
from workers.engine.cutting.records import CannotBeCut, PieceToCut, Stock, check
from workers.engine.cutting.sizes import Sizes
from workers.engine.cutting.width_bounds import cost_bound


def cut(
    pieces: tuple[PieceToCut, ...],
    stock: tuple[Stock, ...],
    keep_from_mm: int = 1000,
    *,
    cut_step_mm: int = 1,
) -> CutList:
    """Which piece is cut from which roll, and how sure it is that nothing is cheaper.

    Lengths and widths are whole millimetres, prices Decimal money. Least money for what must be bought comes first,
    then fewest rolls opened. Pieces are cut from stock of their own product only. `proven` says that neither less
    money nor, for that money, fewer rolls are possible. Pieces with `slants` may be cut two from one length, rounded
    up to `cut_step_mm`; they are where that costs less, opens fewer rolls or leaves a longer remnant. Raises
    `CannotBeCut` where a piece fits no stock.
    """
    check(pieces, stock)
    opened: list[Opened] = []
    money = Decimal(0)
    money_bound = Decimal(0)
    rolls_bound = 0
    proven = True
    for product in dict.fromkeys(piece.product for piece in pieces):
        those = [piece for piece in pieces if piece.product == product]
        result = _cut_product(those, [one for one in stock if one.product == product], cut_step_mm)
        opened.extend(result.opened)
        money += result.cost
        money_bound += result.cost_bound
        rolls_bound += result.rolls_bound
        proven = proven and result.proven
    rolls: list[Roll] = []
    kept: list[KeptOffcut] = []
    for number, one in enumerate(opened, start=1):
        rolls.append(roll_record(number, one))
        kept.extend(kept_offcuts(number, one, keep_from_mm))
    return CutList(
        rolls=tuple(rolls),
        rolls_opened=sum(one.stock.kind == "roll" for one in opened),
        rolls_bound=rolls_bound,
        cost=money,
        cost_bound=money_bound,
        proven=proven,
        kept=tuple(kept),
    )


@dataclass(frozen=True, slots=True)
class _Result:
    opened: list[Opened]
    cost: Decimal
    cost_bound: Decimal
    rolls_bound: int
    proven: bool

    @property
    def worth(self) -> tuple[Decimal, int, int]:
        """The smaller the better: money, rolls opened, and then a longer longest remnant."""
        rolls = [one.remnant_mm for one in self.opened if one.stock.kind == "roll"]
        return self.cost, len(rolls), -max(rolls, default=0)


def _cut_product(pieces: Sequence[PieceToCut], stock: Sequence[Stock], cut_step_mm: int) -> _Result:
    paired = in_pairs(pieces, [one for one in stock if one.on_hand != 0], cut_step_mm)
    if len(paired) == len(pieces):
        return _cut_square(pieces, stock)
    try:
        tries = [_cut_square(pieces, stock), _cut_square(paired, stock)]
    except CannotBeCut:  # limited stock that pairs alone may fit into
        tries = [_cut_square(paired, stock)]
    best = min(tries, key=lambda one: one.worth)
    cost, rolls, _ = best.worth
    bound = _bound(at_their_least(pieces), stock, cost, rolls)
    return replace(
        best,
        opened=without_needless_pairs(best.opened),
        cost_bound=bound.cost_bound,
        rolls_bound=bound.rolls_bound,
        proven=(cost, rolls) == (bound.cost_bound, bound.rolls_bound),
    )


@dataclass(frozen=True, slots=True)
class _Scaled:
    """The bare problem; its costs are money and rolls opened as one whole number, `each` to a unit of money."""

    sizes: Sizes
    alike: list[list[PieceToCut]]
    usable: list[Stock]
    each: int
    parts: int  # decimals of money

    def money(self, cost: int) -> Decimal:
        """The money in a cost."""
        return Decimal(cost // self.each).scaleb(-self.parts)


def _scaled(pieces: Sequence[PieceToCut], stock: Sequence[Stock]) -> _Scaled:
    alike: dict[tuple[int, int], list[PieceToCut]] = {}
    for piece in sorted(pieces, key=lambda one: (one.order, one.id)):
        alike.setdefault((piece.length_mm, piece.width_mm), []).append(piece)
    keys = sorted(alike, reverse=True)
    usable = [
        one
        for one in stock
        if one.on_hand != 0
        and any(length <= one.length_mm and width <= one.width_mm for length, width in keys)
    ]
    # money first, and never more rolls than pieces
    parts = max(0, *(-int(one.price.normalize().as_tuple().exponent) for one in usable))
    each = len(pieces) + 1
    sources = tuple(
        Source(
            length=one.length_mm,
            width=one.width_mm,
            cost=int(one.price.scaleb(parts)) * each + (one.kind == "roll"),
            limit=None if one.on_hand is None else min(one.on_hand, len(pieces)),
        )
        for one in usable
    )
    sizes = Sizes(
        lengths=tuple(length for length, _ in keys),
        widths=tuple(width for _, width in keys),
        counts=tuple(len(alike[key]) for key in keys),
        sources=sources,
    )
    return _Scaled(sizes, [alike[key] for key in keys], usable, each, parts)


def _cut_square(pieces: Sequence[PieceToCut], stock: Sequence[Stock]) -> _Result:
    """Every piece, and every pair, from a length of its own."""
    scaled = _scaled(pieces, stock)
    try:
        cutting, cost, bound = solve_product(scaled.sizes)
    except OutOfStock:
        raise CannotBeCut(
            f"The stock of {pieces[0].product} does not hold all its {len(pieces)} pieces: add a roll that can be "
            "bought, or more rolls on hand.",
            tuple(piece.id for piece in pieces),
        ) from None
    money, money_bound = scaled.money(cost), scaled.money(bound)
    return _Result(
        opened=in_laying_order(name_pieces(scaled.usable, cutting, scaled.alike)),
        cost=money,
        cost_bound=money_bound,
        rolls_bound=bound % scaled.each if money == money_bound else fewest_rolls(scaled.sizes, scaled.each),
        proven=cost == bound,
    )


@dataclass(frozen=True, slots=True)
class _Bound:
    cost_bound: Decimal
    rolls_bound: int


def _bound(pieces: Sequence[PieceToCut], stock: Sequence[Stock], cost: Decimal, rolls: int) -> _Bound:
    """What no way of cutting goes below; the harder method only where the quick one does not reach `cost`."""
    scaled = _scaled(pieces, stock)
    found = cost_bound(scaled.sizes)
    if (scaled.money(found), found % scaled.each) != (cost, rolls):
        with suppress(OutOfStock):  # the quick bound holds all the same
            found = max(found, solve_product(scaled.sizes)[2])
    money = scaled.money(found)
    return _Bound(money, found % scaled.each if money == cost else fewest_rolls(scaled.sizes, scaled.each))
