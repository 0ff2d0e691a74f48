"""Pieces parted by slanted cuts, as they hang: which edge is how long, at which end, and with what they share a length.

A cut list says how a pair lies on the roll. Whoever hangs a piece asks for its edges on the wall; both follow from the
layout and the cut list together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from api_schema.cut_list import CutList, SlantedCut
from api_schema.layout import Layout, Piece

EdgeName = Literal["upper", "lower", "left", "right"]


@dataclass(frozen=True, slots=True)
class SlantedPiece:
    """One piece of a pair.

    `long_edge` and `short_edge` name its edges as it hangs, `at` the end of the strip where it is slanted. `turned`
    says that it lies turned half round on the roll; it is never turned over. `left` says that it lies to the left of
    the slanted cut, face up with the start of the roll to the left.
    """

    piece: str
    partner: str
    long_mm: int
    short_mm: int
    long_edge: EdgeName
    short_edge: EdgeName
    at: Literal["start", "end"]
    turned: bool
    left: bool
    roll: int
    cut: int


def slanted_pieces(layout: Layout, cut_list: CutList) -> dict[str, SlantedPiece]:
    """Every piece that a slanted cut parts from another, by its name; `cut` counts from 1 on its roll."""
    found = [
        (roll.roll, number, one)
        for roll in cut_list.rolls
        for number, cut in enumerate(roll.cuts, start=1)
        for one in cut.slanted
    ]
    if not found:
        return {}
    laid = {
        piece.id: (piece, surface.direction)
        for surface in layout.surfaces
        for strip in surface.strips
        for piece in strip.pieces
    }
    return {
        name: _as_it_hangs(*laid[name], one, roll, number)
        for roll, number, one in found
        for name in one.pieces
    }


def _as_it_hangs(piece: Piece, direction: str, cut: SlantedCut, roll: int, number: int) -> SlantedPiece:
    left, right = cut.pieces
    turned = piece.id in cut.turned
    at_end = (piece.id == left) != turned
    off_upper = (piece.end_slant_mm if at_end else piece.start_slant_mm) > 0
    high, low = _edges(direction)
    extent = piece.to_mm - piece.from_mm
    return SlantedPiece(
        piece=piece.id,
        partner=right if piece.id == left else left,
        long_mm=extent,
        short_mm=extent - abs(cut.near_mm - cut.far_mm),
        long_edge=low if off_upper else high,
        short_edge=high if off_upper else low,
        at="end" if at_end else "start",
        turned=turned,
        left=piece.id == left,
        roll=roll,
        cut=number,
    )


def _edges(direction: str) -> tuple[EdgeName, EdgeName]:
    """The edge with the greater t and the other one; strips that run up have them to the right and left."""
    return ("right", "left") if direction == "up" else ("upper", "lower")
