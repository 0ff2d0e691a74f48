"""The way through: pieces and stock in, a cut list out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from api_schema.cut_list import CutList, KeptOffcut, Roll
from workers.engine.cutting.cut_list import Opened, kept_offcuts, name_pieces, roll_record
from workers.engine.cutting.laying_order import in_laying_order
from workers.engine.cutting.lengths import OutOfStock
from workers.engine.cutting.problem import Source
from workers.engine.cutting.product import fewest_rolls, solve_product
from workers.engine.cutting.records import CannotBeCut, PieceToCut, Stock, check
from workers.engine.cutting.sizes import Sizes


def cut(pieces: tuple[PieceToCut, ...], stock: tuple[Stock, ...], keep_from_mm: int = 1000) -> CutList:
    """Which piece is cut from which roll, and how sure it is that nothing is cheaper.

    Lengths and widths are whole millimetres, prices Decimal money. Least money for what must be bought comes first,
    then fewest rolls opened. Pieces are cut from stock of their own product only. `proven` says that neither less
    money nor, for that money, fewer rolls are possible. Raises `CannotBeCut` where a piece fits no stock.
    """
    check(pieces, stock)
    opened: list[Opened] = []
    money = Decimal(0)
    money_bound = Decimal(0)
    rolls_bound = 0
    proven = True
    for product in dict.fromkeys(piece.product for piece in pieces):
        those = [piece for piece in pieces if piece.product == product]
        result = _cut_product(those, [one for one in stock if one.product == product])
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


def _cut_product(pieces: Sequence[PieceToCut], stock: Sequence[Stock]) -> _Result:
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
    # money and rolls opened as one whole number: money first, and never more rolls than pieces
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
    try:
        cutting, cost, bound = solve_product(sizes)
    except OutOfStock:
        raise CannotBeCut(
            f"The stock of {pieces[0].product} does not hold all its {len(pieces)} pieces: add a roll that can be "
            "bought, or more rolls on hand.",
            tuple(piece.id for piece in pieces),
        ) from None
    money, money_bound = cost // each, bound // each
    return _Result(
        opened=in_laying_order(name_pieces(usable, cutting, [alike[key] for key in keys])),
        cost=Decimal(money).scaleb(-parts),
        cost_bound=Decimal(money_bound).scaleb(-parts),
        rolls_bound=bound % each if money == money_bound else fewest_rolls(sizes, each),
        proven=cost == bound,
    )
