"""From sections of kinds to a cut list of named pieces, in laying order."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from api_schema.cut_list import Cut, KeptOffcut, Lane, Roll, SlantedCut
from workers.engine.cutting.records import PieceToCut, Stock
from workers.engine.cutting.sections import Section

NARROWEST_KEPT_MM = 200  # common practice: a narrower ribbon is not worth carrying to the next job


CutOf = tuple[
    int, tuple[tuple[int, tuple[PieceToCut, ...]], ...]
]  # length; per lane its width, pieces end to end


@dataclass(frozen=True, slots=True)
class Opened:
    """A roll or offcut and the named pieces of each cut."""

    stock: Stock
    cuts: tuple[CutOf, ...]

    @property
    def remnant_mm(self) -> int:
        """Left at the end of the roll."""
        return self.stock.length_mm - sum(length for length, _ in self.cuts)


def name_pieces(
    stock: Sequence[Stock],
    cutting: Sequence[tuple[int, Sequence[Section]]],
    alike: Sequence[Sequence[PieceToCut]],
) -> list[Opened]:
    """Give every place in every roll a piece of its kind (`alike[kind]` in laying order), rolls in laying order."""
    waiting = [deque(pieces) for pieces in alike]

    groups: dict[tuple[int, ...], deque[int]] = {}
    for number, (_, sections) in enumerate(cutting):
        kinds = tuple(sorted({kind for section in sections for _, lane in section.lanes for kind in lane}))
        groups.setdefault(kinds, deque()).append(number)

    def first_order(kinds: tuple[int, ...]) -> int:
        return min(waiting[kind][0].order for kind in kinds)

    # the earliest piece of a roll can only become later as others are named, so rolls of the same kinds are looked
    # at again only when they come up
    queue = [(first_order(kinds), kinds) for kinds in groups]
    heapify(queue)
    opened: list[Opened] = []
    while queue:
        order, kinds = heappop(queue)
        now = first_order(kinds)
        if now > order:
            heappush(queue, (now, kinds))
            continue
        source, sections = cutting[groups[kinds].popleft()]
        cuts = [
            (
                section.length,
                tuple(
                    (width, tuple(waiting[kind].popleft() for kind in lane)) for width, lane in section.lanes
                ),
            )
            for section in sections
        ]
        cuts.sort(key=lambda cut: min((piece.order, piece.id) for _, lane in cut[1] for piece in lane))
        opened.append(Opened(stock[source], tuple(cuts)))
        if groups[kinds]:
            heappush(queue, (first_order(kinds), kinds))
    return opened


def roll_record(number: int, opened: Opened) -> Roll:
    """The shared record of one opened roll."""
    at = 0
    cuts: list[Cut] = []
    for length, lanes in opened.cuts:
        pieces = tuple(name for _, lane in lanes for name in _names(lane))
        whole = len(lanes) == 1 and len(lanes[0][1]) == 1 and lanes[0][0] == opened.stock.width_mm
        cuts.append(
            Cut(
                at_mm=at,
                length_mm=length,
                pieces=pieces,
                lanes=() if whole else tuple(Lane(width, _names(lane)) for width, lane in lanes),
                slanted=tuple(one for _, lane in lanes for one in _slanted_cuts(lane)),
            )
        )
        at += length
    return Roll(
        roll=number,
        product=opened.stock.product,
        length_mm=opened.stock.length_mm,
        width_mm=opened.stock.width_mm,
        from_stock=opened.stock.on_hand is not None,
        cuts=tuple(cuts),
        remnant_mm=opened.stock.length_mm - at,
    )


def _names(lane: tuple[PieceToCut, ...]) -> tuple[str, ...]:
    return tuple(
        one.id for piece in lane for one in (piece.pair.pieces if piece.pair is not None else (piece,))
    )


def _slanted_cuts(lane: tuple[PieceToCut, ...]) -> Iterator[SlantedCut]:
    """The slanted cuts of a lane, measured from the start of the cut."""
    at = 0
    for piece in lane:
        if piece.pair is not None:
            pair = piece.pair
            yield SlantedCut(
                pieces=tuple(one.id for one in pair.pieces),
                near_mm=at + pair.near_mm,
                far_mm=at + pair.far_mm,
                turned=tuple(one.id for one, turned in zip(pair.pieces, pair.turned, strict=True) if turned),
            )
        at += piece.length_mm


def kept_offcuts(number: int, opened: Opened, keep_from_mm: int) -> list[KeptOffcut]:
    """What is worth keeping of one roll: the remnant, and widths ripped off along whole cuts.

    Kept is what is at least `keep_from_mm` long and 200 mm wide (or the roll's whole width where that is less).
    """
    stock = opened.stock
    kept: list[KeptOffcut] = []
    at = 0
    narrowest = min(NARROWEST_KEPT_MM, stock.width_mm)
    for length, lanes in opened.cuts:
        at += length
        beside = stock.width_mm - sum(width for width, _ in lanes)
        if length >= max(1, keep_from_mm) and beside >= narrowest:
            kept.append(KeptOffcut(stock.product, length, beside, number))
    if stock.length_mm - at >= max(1, keep_from_mm):
        kept.append(KeptOffcut(stock.product, stock.length_mm - at, stock.width_mm, number))
    return kept
