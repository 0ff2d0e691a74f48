"""Pieces with slanted ends, two and two from one length that is shorter than both together.

Where two ends face each other and both may be cut off at the same edge's side, one slanted cut parts the pieces, and
the length saved is the smaller of what the two may leave off. Turned half round, what a piece may leave off the far
edge of its end it may leave off the near edge of its start; so ends fall into two hands, and two of one hand fit
each other: one of the pieces, or both, are turned, none is turned over.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from workers.engine.cutting.cut_list import CutOf, Opened
from workers.engine.cutting.records import Pair, PieceToCut, Stock

_NEIGHBOURS = 12  # ends nearest in depth that one end is matched with
_FINE_MM = 10


class _End(NamedTuple):
    depth: int
    piece: int
    at_end: bool
    far_first: bool  # with the end to the right, the far edge is the shorter one


def in_pairs(pieces: Sequence[PieceToCut], stock: Sequence[Stock], cut_step_mm: int) -> list[PieceToCut]:
    """The pieces, those two and two together that save most; as they are where nothing is saved.

    A pair's length is rounded up to the cut step. No pair is longer than the stock it would be cut from.
    """
    found = sorted(_matches(pieces, stock, cut_step_mm), key=lambda one: (-one[0], one[1], one[2]))
    gone: set[int] = set()
    pairs: list[PieceToCut] = []
    for _, first, second, pair in found:
        if first not in gone and second not in gone:
            gone |= {first, second}
            pairs.append(pair)
    return [piece for number, piece in enumerate(pieces) if number not in gone] + pairs


def _matches(
    pieces: Sequence[PieceToCut], stock: Sequence[Stock], cut_step_mm: int
) -> Iterator[tuple[int, int, int, PieceToCut]]:
    groups: dict[tuple[int, bool], list[_End]] = {}
    for number, piece in enumerate(pieces):
        slants = piece.slants
        if slants is None:
            continue
        for depth, at_end in ((slants.end_mm, True), (slants.start_mm, False)):
            if depth:
                far_first = (depth > 0) == at_end
                groups.setdefault((piece.width_mm, far_first), []).append(
                    _End(abs(depth), number, at_end, far_first)
                )
    for ends in groups.values():
        ends.sort(key=lambda end: (-end.depth, end.piece, end.at_end))
        for place, one in enumerate(ends):
            for other in ends[place + 1 : place + 1 + _NEIGHBOURS]:
                if one.piece == other.piece:
                    continue
                first, second = sorted((one, other), key=lambda end: end.piece)
                pair = _paired(pieces, first, second, cut_step_mm)
                saved = pieces[first.piece].length_mm + pieces[second.piece].length_mm - pair.length_mm
                fits = any(
                    pair.length_mm <= each.length_mm and pair.width_mm <= each.width_mm for each in stock
                )
                if saved > 0 and fits:
                    yield saved, first.piece, second.piece, pair


def _paired(pieces: Sequence[PieceToCut], left: _End, right: _End, cut_step_mm: int) -> PieceToCut:
    """Two pieces from one length: the left one with this end to the right, the other one with its to the left."""
    one, other = pieces[left.piece], pieces[right.piece]
    if one.slants is None or other.slants is None:
        raise ValueError("only pieces with slants can be paired")
    saved = min(left.depth, right.depth)
    extent = one.slants.extent_mm
    length = extent + other.slants.extent_mm - saved
    near, far = (extent, extent - saved) if left.far_first else (extent - saved, extent)
    return PieceToCut(
        id=f"{one.id}+{other.id}",
        surface=one.surface,
        product=one.product,
        length_mm=-(-length // cut_step_mm) * cut_step_mm,
        width_mm=one.width_mm,
        order=min(one.order, other.order),
        pair=Pair((one, other), (not left.at_end, right.at_end), near, far),
    )


def at_their_least(pieces: Sequence[PieceToCut]) -> list[PieceToCut]:
    """Every piece as short as pairing can ever make it: what bounds on plans with pairs are reckoned with.

    A pair is never shorter than its two pieces, each less half of what its ends may leave off; so whatever holds the
    pairs also holds these.
    """
    return [
        piece
        if piece.slants is None
        else replace(
            piece, length_mm=_least_mm(piece.slants.extent_mm, piece.slants.start_mm, piece.slants.end_mm)
        )
        for piece in pieces
    ]


def _least_mm(extent: int, start: int, end: int) -> int:
    """Rounded down to what keeps lengths few; at least 1 mm, which a pair always has to spare."""
    least = extent - (abs(start) + abs(end) + 1) // 2
    return max(1, least - least % _FINE_MM)


def without_needless_pairs(opened: Sequence[Opened]) -> list[Opened]:
    """Pieces apart again, cut square, where there is room for that on a roll that is not the longest remnant."""
    longest = max((one.remnant_mm for one in opened if one.stock.kind == "roll"), default=0)
    spared = False
    result: list[Opened] = []
    for one in opened:
        if not spared and one.stock.kind == "roll" and one.remnant_mm == longest:
            spared = True
            result.append(one)
        else:
            result.append(_apart(one))
    return result


def _apart(opened: Opened) -> Opened:
    room = opened.remnant_mm
    cuts: list[CutOf] = []
    for length, lanes in opened.cuts:
        pair = lanes[0][1][0].pair if len(lanes) == 1 and len(lanes[0][1]) == 1 else None
        more = sum(piece.length_mm for piece in pair.pieces) - length if pair is not None else 0
        if pair is None or more > room:
            cuts.append((length, lanes))
        else:
            room -= more
            cuts.extend((piece.length_mm, ((piece.width_mm, (piece,)),)) for piece in pair.pieces)
    cuts.sort(key=lambda cut: min((piece.order, piece.id) for _, lane in cut[1] for piece in lane))
    return Opened(opened.stock, tuple(cuts))
