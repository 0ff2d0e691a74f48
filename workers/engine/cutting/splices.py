"""Pieces made of two parts, where a roll less to buy is worth more than the joints.

Begun from the rolls cut without splices. Where the area of the pieces alone would need as dear rolls, nothing is
tried. Else each cheaper mix of rolls that has the room is filled end to end (`splice_fill`), which needs at most one
splice from a roll to the next; the parts are then cut like any piece, and splices that turn out needless are taken out
again. What remains is kept only where the rolls gain more money than tape, taping and hanging of the parts cost. The
search is bounded in cuttings and the same every time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from typing import Literal

from api_schema.cut_list import CutList, Splice, Splicing
from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.price_book import PriceBook
from api_schema.standard import Standard
from workers.engine.costs import LayoutCosts
from workers.engine.cutting.cover import Cover
from workers.engine.cutting.cut_job import cut_job, pieces_of, stock_of
from workers.engine.cutting.plan_cuts import cut
from workers.engine.cutting.problem import Source
from workers.engine.cutting.records import CannotBeCut, PieceToCut, Stock
from workers.engine.cutting.sizes import Sizes
from workers.engine.cutting.splice_fill import Bar, end_to_end
from workers.engine.cutting.splice_places import SplicePlace, part_names, splice_places, spliced
from workers.engine.cutting.width_bounds import cost_bound

_MOST_CUTTINGS = 48
_MOST_PIECES_CUT = 20_000  # cuttings times pieces: large jobs are tried less often
_MOST_MIXES = 6
_ROLLS_TO_SPARE = 3  # of the shortest kind, where the pieces do not go into fewer
_THRIFT = (0, 1, 2, 10_000)
_LEADS: tuple[Literal["longest", "shortest"], ...] = ("longest", "shortest")
_NOTHING = Decimal(0)

Chosen = dict[str, SplicePlace]


def splice(
    job: Job,
    layout: Layout,
    cut_list: CutList,
    costs: LayoutCosts,
    price_book: PriceBook,
    standard: Standard,
) -> tuple[Layout, CutList] | None:
    """The layout and its cut list with spliced pieces, where that costs less; None where it does not.

    `cut_list` is that of `layout` without splices. The bounds of the new one hold for these pieces however they are
    divided along their length.
    """
    if not standard.splices_allowed:
        return None
    with localcontext(prec=50):
        pieces = tuple(pieces_of(layout, slanted=standard.slanted_cuts_allowed))
        tries = min(_MOST_CUTTINGS, _MOST_PIECES_CUT // max(1, len(pieces)))
        products = [
            found
            for code in dict.fromkeys(piece.product for piece in pieces)
            if (found := _OfProduct.of(code, pieces, cut_list, price_book, costs)) is not None
        ]
        if not products or tries == 0:
            return None
        places = splice_places(job, layout, standard, costs, {one.code for one in products})
        chosen: Chosen = {}
        search = _Search(layout, costs, standard, places)
        for one in products:
            chosen |= search.of(one, tries)
        if not chosen:
            return None
        laid = spliced(layout, chosen, costs)
        cut_anew = cut_job(laid, price_book, standard)
        splicing = _record(layout, chosen, cut_list, cut_anew)
        if splicing.money_saved <= 0:
            return None
        return laid, _with_bounds(cut_anew, splicing, products, laid, standard, chosen)


@dataclass(frozen=True, slots=True)
class _OfProduct:
    """What is cut of one product, its rolls without splices and their cost, and what no division goes below."""

    code: str
    pieces: tuple[PieceToCut, ...]
    stock: tuple[Stock, ...]
    bars: tuple[tuple[int, int, str], ...]  # length, width, and the piece where it is one alone
    cost: Decimal
    rolls: int
    sizes: Sizes
    parts: int  # decimals of money
    each: int  # a unit of money in the costs of `sizes`; rolls opened are counted below it

    @classmethod
    def of(
        cls,
        code: str,
        pieces: Sequence[PieceToCut],
        cut_list: CutList,
        price_book: PriceBook,
        costs: LayoutCosts,
    ) -> _OfProduct | None:
        """None where splices cannot make the rolls cheaper, or not by as much as one more piece costs to hang."""
        those = tuple(piece for piece in pieces if piece.product == code)
        stock = tuple(one for one in stock_of(price_book, {code}) if one.on_hand != 0)
        rolls = [roll for roll in cut_list.rolls if roll.product == code]
        cost = sum((_price(stock, roll.length_mm) for roll in rolls if not roll.from_stock), _NOTHING)
        bars = tuple(
            (
                one.length_mm,
                sum(lane.width_mm for lane in one.lanes) or roll.width_mm,
                one.pieces[0] if len(one.pieces) == 1 and not one.slanted else "",
            )
            for roll in rolls
            for one in roll.cuts
        )
        sizes, parts, each = _divided(those, stock)
        found = cls(code, those, stock, bars, cost, len(rolls), sizes, parts, each)
        return found if found.bound()[0] + costs.piece_cost < cost else None

    def bound(self) -> tuple[Decimal, int]:
        """Money that no way of dividing and cutting goes below, and the rolls opened for that money."""
        found = cost_bound(self.sizes)
        return Decimal(found // self.each).scaleb(-self.parts), found % self.each

    def mixes(self, below: Decimal) -> Iterator[tuple[Decimal, list[tuple[int, int]]]]:
        """Mixes of rolls at least as long as all the bars, cheapest first: length and width of each."""
        sources = self.sizes.sources
        narrowest = min(width for _, width, _ in self.bars)
        usable = [one.length if one.width >= narrowest else 0 for one in sources]
        shortest = min((length for length in usable if length), default=0)
        wanted = sum(length for length, _, _ in self.bars)
        found = {
            mix
            for spare in range(_ROLLS_TO_SPARE + 1)
            for mix in Cover(sources, usable, wanted + spare * shortest).mixes(_MOST_MIXES)
        }
        for cost, counts in sorted(found)[: 2 * _MOST_MIXES]:
            money = Decimal(cost // self.each).scaleb(-self.parts)
            if money < below:
                yield (
                    money,
                    [
                        (source.length, source.width)
                        for source, count, holds in zip(sources, counts, usable, strict=True)
                        for _ in range(count if holds else 0)
                    ],
                )


def _price(stock: Sequence[Stock], length_mm: int) -> Decimal:
    return min(one.price for one in stock if one.on_hand is None and one.length_mm == length_mm)


def _divided(pieces: Sequence[PieceToCut], stock: Sequence[Stock]) -> tuple[Sizes, int, int]:
    """The pieces as millimetres of their widths, and the sources as in `plan_cuts`: money first, then rolls."""
    by_width: dict[int, int] = {}
    for piece in pieces:
        by_width[piece.width_mm] = by_width.get(piece.width_mm, 0) + piece.length_mm
    widths = sorted(by_width, reverse=True)
    parts = max(0, *(-int(one.price.normalize().as_tuple().exponent) for one in stock), 0)
    each = 4 * len(pieces) + 10
    sources = tuple(
        Source(
            length=one.length_mm,
            width=one.width_mm,
            cost=int(one.price.scaleb(parts)) * each + (one.kind == "roll"),
            limit=None if one.on_hand is None else min(one.on_hand, 2 * len(pieces)),
        )
        for one in stock
    )
    return (
        Sizes((1,) * len(widths), tuple(widths), tuple(by_width[width] for width in widths), sources),
        parts,
        each,
    )


@dataclass(frozen=True, slots=True)
class _Search:
    """Which pieces of a product to splice, and where."""

    layout: Layout
    costs: LayoutCosts
    standard: Standard
    places: Mapping[str, tuple[SplicePlace, ...]]

    def of(self, product: _OfProduct, tries: int) -> Chosen:
        """The cheapest splices found; none where none pay."""
        bars = [
            Bar(length, width, self.places.get(name, ()) if name else ())
            for length, width, name in product.bars
        ]
        cheapest = min((place.cost for bar in bars for place in bar.places), default=None)
        best: Chosen = {}
        if cheapest is None:
            return best
        money = product.cost
        seen: set[tuple[SplicePlace, ...]] = set()
        for least, rolls in product.mixes(product.cost):
            if least + cheapest >= money:
                break
            for found in _ways(bars, rolls):
                if found in seen or tries <= 0:
                    continue
                seen.add(found)
                chosen, cost, tries = self._pruned(product, {one.piece: one for one in found}, tries)
                if cost is not None and cost < money:
                    money, best = cost, chosen
        return best

    def _pruned(self, product: _OfProduct, chosen: Chosen, tries: int) -> tuple[Chosen, Decimal | None, int]:
        """The splices without the needless ones, what rolls and splices cost, and the cuttings left to try."""
        cost, apart = self._cost(product, chosen)
        tries -= 1
        for place in sorted(chosen.values(), key=lambda one: (-one.cost, one.piece)):
            if tries <= 0 or len(chosen) == 1:
                break
            fewer = {name: one for name, one in chosen.items() if name != place.piece}
            less, still_apart = self._cost(product, fewer)
            tries -= 1
            if less is not None and still_apart and (cost is None or less <= cost):
                chosen, cost, apart = fewer, less, True
        enough = apart and len(chosen) < product.rolls
        return chosen, cost if enough else None, tries

    def _cost(self, product: _OfProduct, chosen: Chosen) -> tuple[Decimal | None, bool]:
        """Money for rolls and splices, and whether every piece's parts come from two rolls."""
        pieces = _pieces(self.layout, chosen, self.costs, self.standard, product.code)
        try:
            found = cut(
                pieces, product.stock, self.standard.keep_remnant_mm, cut_step_mm=self.standard.cut_step_mm
            )
        except CannotBeCut:
            return None, False
        roll_of = {name: roll.roll for roll in found.rolls for one in roll.cuts for name in one.pieces}
        apart = all(len({roll_of[part] for part in part_names(name)}) == 2 for name in chosen)
        return found.cost + sum((one.cost for one in chosen.values()), _NOTHING), apart


def _ways(bars: Sequence[Bar], rolls: list[tuple[int, int]]) -> Iterator[tuple[SplicePlace, ...]]:
    """Splices that let the bars be cut from these rolls, found in several ways."""
    orders = [rolls] if rolls == rolls[::-1] else [rolls, rolls[::-1]]
    for order in orders:
        for lead in _LEADS:
            for thrift in _THRIFT:
                found = end_to_end(bars, order, thrift, lead)
                if found:
                    yield found


def _pieces(
    layout: Layout, chosen: Chosen, costs: LayoutCosts, standard: Standard, product: str
) -> tuple[PieceToCut, ...]:
    laid = spliced(layout, chosen, costs)
    return tuple(
        piece for piece in pieces_of(laid, slanted=standard.slanted_cuts_allowed) if piece.product == product
    )


def _record(layout: Layout, chosen: Chosen, before: CutList, after: CutList) -> Splicing:
    in_order = [
        chosen[piece.id]
        for surface in layout.surfaces
        for strip in surface.strips
        for piece in strip.pieces
        if piece.id in chosen
    ]
    rolls_cost = before.cost - after.cost
    splices_cost = sum((one.cost for one in in_order), _NOTHING)
    return Splicing(
        splices=tuple(
            Splice(
                piece=one.piece,
                parts=part_names(one.piece),
                from_mm=one.from_mm,
                to_mm=one.to_mm,
                overlap_mm=one.to_mm - one.from_mm,
                member_mm=one.member_mm,
                cost=one.cost,
            )
            for one in in_order
        ),
        rolls_saved=before.rolls_opened - after.rolls_opened,
        rolls_cost_saved=rolls_cost,
        splices_cost=splices_cost,
        money_saved=rolls_cost - splices_cost,
    )


def _with_bounds(
    cut_list: CutList,
    splicing: Splicing,
    products: Sequence[_OfProduct],
    laid: Layout,
    standard: Standard,
    chosen: Chosen,
) -> CutList:
    """The bounds of spliced products are those over all divisions; those of the others stay."""
    money, rolls = cut_list.cost_bound, cut_list.rolls_bound
    pieces = tuple(pieces_of(laid, slanted=standard.slanted_cuts_allowed))
    for one in products:
        if not any(piece.id in chosen for piece in one.pieces):
            continue
        those = tuple(piece for piece in pieces if piece.product == one.code)
        found = cut(those, one.stock, standard.keep_remnant_mm, cut_step_mm=standard.cut_step_mm)
        least, opened = one.bound()
        money += least - found.cost_bound
        rolls += (opened if least == found.cost else _fewest_opened(one)) - found.rolls_bound
    return replace(
        cut_list,
        cost_bound=money,
        rolls_bound=rolls,
        proven=money == cut_list.cost and rolls == cut_list.rolls_opened,
        spliced=splicing,
    )


def _fewest_opened(product: _OfProduct) -> int:
    sources = tuple(replace(one, cost=one.cost % product.each) for one in product.sizes.sources)
    return cost_bound(replace(product.sizes, sources=sources))
