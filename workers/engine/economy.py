"""Layout and cutting together: surfaces are laid otherwise where the rolls gain more than the laps lose.

Each surface's own layout weighs membrane by the metre, but rolls are bought whole. So once the rolls are cut, the next
best layouts of each surface are tried in their place, cheapest first, and kept where the money of the job falls. The
search is bounded in tries; what it returns is never dearer than laying and cutting one after the other.

The bound of the whole job needs no layout at all: the pieces cover at least the net area, so the rolls hold at least
that area and cost at least that area at the cheapest price of an area; and a surface needs at least as many pieces as
pieces of the greatest width and handled length cover its net area. Both hold for every layout, so their sum does.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal, localcontext

from api_schema.cut_list import CutList
from api_schema.economy import Economy, Swap
from api_schema.job import Job
from api_schema.layout import Layout, SurfaceLayout
from api_schema.price_book import PriceBook
from api_schema.standard import Standard
from api_schema.surface import Surface
from api_schema.survey import doubled_area_mm2
from workers.engine.costs import LayoutCosts
from workers.engine.cutting import cut_job, stock_of
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
    job: Job, laying: Laying, costs: LayoutCosts, price_book: PriceBook, standard: Standard
) -> tuple[Layout, CutList, Economy]:
    """The layout and cut list of a job, swapped where that costs less in all, and what they cost together.

    Raises:
        CannotBeCut: where a piece fits no roll.
    """
    with localcontext(prec=50):
        prices = {membrane.product: membrane.price_per_m for membrane in costs.membranes}
        layout = laying.layout
        cut_list = cut_job(layout, price_book, standard)
        floor = _roll_floor(job, price_book, costs)
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
        beside = sum((_beside_membrane(one, prices) for one in layout.surfaces), _NOTHING).quantize(
            costs.minor_unit
        )
        bound = floor + _piece_floor(job, costs, standard)
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


def _net_area_mm2(surface: Surface) -> int:
    doubled = abs(doubled_area_mm2(surface.outline_mm)) - sum(
        abs(doubled_area_mm2(opening.outline_mm)) for opening in surface.openings
    )
    return doubled // 2


def _roll_floor(job: Job, price_book: PriceBook, costs: LayoutCosts) -> Decimal:
    """No rolls that hold the net area cost less; what is on hand costs nothing."""
    area = sum(_net_area_mm2(surface) for surface in job.surfaces)
    cheapest: Decimal | None = None
    for stock in stock_of(price_book, {membrane.product for membrane in costs.membranes}):
        size = stock.length_mm * stock.width_mm
        if stock.on_hand is not None:
            area -= size * stock.on_hand
        else:
            price = stock.price / size
            cheapest = price if cheapest is None else min(cheapest, price)
    if cheapest is None or area <= 0:
        return _NOTHING
    return (area * cheapest).quantize(costs.minor_unit, ROUND_CEILING)


def _piece_floor(job: Job, costs: LayoutCosts, standard: Standard) -> Decimal:
    largest = standard.handled_length_mm * max(membrane.width_mm for membrane in costs.membranes)
    fewest = sum(-(-_net_area_mm2(surface) // largest) for surface in job.surfaces)
    return (fewest * costs.piece_cost).quantize(costs.minor_unit, ROUND_FLOOR)
