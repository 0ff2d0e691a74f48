"""Layout and cutting together: surfaces are laid otherwise where the rolls gain more than the laps lose.

Each surface's own layout weighs membrane by the metre, but rolls are bought whole. So once the rolls are cut, the next
best layouts of each surface are tried in their place, cheapest first, and kept where the money of the job falls. The
search is bounded in tries; what it returns is never dearer than laying and cutting one after the other.

The bound of the whole job holds for every layout with the edges' allowances as chosen, not only for those tried.
Whatever the layout, its strips cover the region, so the rolls opened hold at least the region's area, pieces side by
side or not: no whole rolls with that much in them cost less than the cheapest mix that has it. And whatever the
layout, laps, penalties and pieces of a surface cost at least what they cost where the layout is chosen for them alone,
as if membrane were free. The two parts of the cost have nothing in common, so the sum of their bounds is a bound.
Costs are stated to the currency's smallest unit by surface, and so is the bound.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext

from api_schema.cut_list import CutList
from api_schema.economy import Economy, Swap
from api_schema.layout import Layout, SurfaceLayout
from api_schema.price_book import PriceBook
from api_schema.standard import Standard
from workers.engine.costs import LayoutCosts
from workers.engine.cutting import cut_job, stock_of
from workers.engine.cutting.cover import Cover
from workers.engine.cutting.problem import Source
from workers.engine.layout import Laying

_MOST_TRIES = 24
_MOST_PIECES_CUT = 20_000  # tries times pieces: large jobs are tried less often
_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class _Try:
    number: int
    instead: SurfaceLayout
    dearer_by: Decimal


def settle(
    laying: Laying, costs: LayoutCosts, price_book: PriceBook, standard: Standard
) -> tuple[Layout, CutList, Economy]:
    """The layout and cut list of a job, swapped where that costs less in all, and what they cost together.

    Raises:
        CannotBeCut: where a piece fits no roll.
    """
    with localcontext(prec=50):
        prices = {membrane.product: membrane.price_per_m for membrane in costs.membranes}
        layout = laying.layout
        cut_list = cut_job(layout, price_book, standard)
        least = laying.floor()
        floor = _roll_floor(least.area_mm2, price_book, costs)
        swaps: list[Swap] = []
        if cut_list.cost > floor:
            for one in _tries(laying, prices, cut_list.cost - floor):
                now = layout.surfaces[one.number]
                if any(swap.surface == now.id for swap in swaps):
                    continue
                dearer_by = _beside_membrane(one.instead, prices) - _beside_membrane(now, prices)
                tried = _with(layout, one.number, one.instead)
                cut = cut_job(tried, price_book, standard)
                saved = cut_list.cost - cut.cost
                if saved > dearer_by:
                    swaps.append(Swap(now.id, dearer_by.quantize(costs.minor_unit), saved))
                    layout, cut_list = tried, cut
        layout = _with_reasons(layout, swaps, price_book.currency)
        by_surface = [_beside_membrane(one, prices) for one in layout.surfaces]
        beside = sum(by_surface, _NOTHING).quantize(costs.minor_unit)
        bound = floor + _beside_floor(by_surface, least.beside, costs.minor_unit).quantize(costs.minor_unit)
        cost = cut_list.cost + beside
        return (
            layout,
            cut_list,
            Economy(
                rolls=cut_list.cost,
                laps_and_pieces=beside,
                cost=cost,
                bound=min(bound, cost),
                proven=bound >= cost,
                swaps=tuple(swaps),
            ),
        )


def _tries(laying: Laying, prices: Mapping[str, Decimal], most_to_gain: Decimal) -> Iterator[_Try]:
    pieces = sum(len(strip.pieces) for one in laying.layout.surfaces for strip in one.strips)
    tries = min(_MOST_TRIES, _MOST_PIECES_CUT // max(1, pieces))
    if tries == 0:
        return
    found = [
        _Try(number, instead, dearer_by)
        for number, chosen in enumerate(laying.layout.surfaces)
        for instead in laying.alternatives(chosen.id)
        for dearer_by in (_beside_membrane(instead, prices) - _beside_membrane(chosen, prices),)
        if dearer_by < most_to_gain and _cut_lengths(instead) != _cut_lengths(chosen)
    ]
    found.sort(key=lambda one: (one.instead.cost - laying.layout.surfaces[one.number].cost, one.number))
    yield from found[:tries]


def _beside_membrane(layout: SurfaceLayout, prices: Mapping[str, Decimal]) -> Decimal:
    """What a surface's layout costs but for membrane by the metre."""
    membrane = sum(
        (
            piece.cut_length_mm * prices[strip.product] / 1000
            for strip in layout.strips
            for piece in strip.pieces
        ),
        _NOTHING,
    )
    return max(_NOTHING, layout.cost - membrane)


def _cut_lengths(layout: SurfaceLayout) -> list[tuple[str, int, int]]:
    return sorted(
        (strip.product, piece.cut_length_mm, piece.cut_width_mm)
        for strip in layout.strips
        for piece in strip.pieces
    )


def _with(layout: Layout, number: int, instead: SurfaceLayout) -> Layout:
    surfaces = (*layout.surfaces[:number], instead, *layout.surfaces[number + 1 :])
    return Layout(
        surfaces=surfaces,
        cost=sum((one.cost for one in surfaces), _NOTHING),
        bound=sum((one.bound for one in surfaces), _NOTHING),
        proven=all(one.proven for one in surfaces),
    )


def _with_reasons(layout: Layout, swaps: list[Swap], currency: str) -> Layout:
    why = {swap.surface: swap for swap in swaps}
    return dataclasses.replace(
        layout,
        surfaces=tuple(
            dataclasses.replace(
                one,
                reason=_reason(why[one.id], currency),
            )
            if one.id in why
            else one
            for one in layout.surfaces
        ),
    )


def _reason(swap: Swap, currency: str) -> str:
    if swap.dearer_by <= 0:
        rolls = f"the rolls {swap.rolls_save} {currency} less" if swap.rolls_save else "the rolls no more"
        return f"Laid so because laps and pieces cost {-swap.dearer_by} {currency} less and {rolls}."
    return (
        f"Laid so for the sake of the rolls: they cost {swap.rolls_save} {currency} less, "
        f"laps and pieces {swap.dearer_by} {currency} more."
    )


def _roll_floor(area_mm2: int, price_book: PriceBook, costs: LayoutCosts) -> Decimal:
    """No whole rolls that hold the area cost less; what is on hand costs nothing."""
    stock = tuple(stock_of(price_book, {membrane.product for membrane in costs.membranes}))
    parts = max((0, *(-int(one.price.normalize().as_tuple().exponent) for one in stock)))
    sources = [
        Source(one.length_mm, one.width_mm, int(one.price.scaleb(parts)), one.on_hand) for one in stock
    ]
    areas = [one.length_mm * one.width_mm for one in stock]
    return Decimal(Cover(sources, areas, area_mm2).bound()).scaleb(-parts)


def _beside_floor(stated: Iterable[Decimal], least: Iterable[Decimal], minor_unit: Decimal) -> Decimal:
    """The least that laps and pieces cost; a surface that reaches it, but for rounding, counts as stated."""
    return sum(
        (
            now if abs(now - floor) * 2 <= minor_unit else floor
            for now, floor in zip(stated, least, strict=True)
        ),
        _NOTHING,
    )
