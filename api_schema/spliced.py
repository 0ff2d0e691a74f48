"""The parts of spliced pieces, each with the roll that its other part comes from."""

from __future__ import annotations

from dataclasses import dataclass

from api_schema.cut_list import CutList


@dataclass(frozen=True, slots=True)
class SplicedPart:
    """One part of a piece; `number` is 1 or 2 along the run."""

    piece: str
    number: int
    other: str
    other_roll: int


def spliced_parts(cut_list: CutList) -> dict[str, SplicedPart]:
    """Every part of a spliced piece, by its name."""
    if cut_list.spliced is None:
        return {}
    roll_of = {name: roll.roll for roll in cut_list.rolls for cut in roll.cuts for name in cut.pieces}
    return {
        part: SplicedPart(one.piece, number, other, roll_of[other])
        for one in cut_list.spliced.splices
        for number, (part, other) in enumerate((one.parts, one.parts[::-1]), start=1)
    }
