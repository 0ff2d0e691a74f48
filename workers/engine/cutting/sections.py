"""Narrow pieces side by side: sections, each a length cut across the roll and ripped into lanes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workers.engine.cutting.fill import fullest

BIASES = (16, 4, 8, 2, 1)
_ONE = 1 << 20
_State = tuple[int, int, tuple[int, ...]]  # width used, worth, kinds


@dataclass(frozen=True, slots=True)
class Section:
    """One length of roll; each lane is a width and the kinds of piece it holds end to end."""

    length: int
    lanes: tuple[tuple[int, tuple[int, ...]], ...]

    @property
    def width(self) -> int:
        """Width of all lanes together."""
        return sum(width for width, _ in self.lanes)


def make_sections(
    room: int, lengths: Sequence[int], widths: Sequence[int], counts: Sequence[int], bias: int
) -> list[Section]:
    """Put every piece into a section at most `room` wide.

    Kinds are sorted longest first. The longest piece left opens a section; beside it lie the pieces that are worth
    most, a piece being worth width × (length ÷ section length) to the power `bias`, chosen exactly; what is left of
    a lane is filled with shorter pieces end to end.
    """
    pile = _Pile(lengths, widths, list(counts))
    sections: list[Section] = []
    for opener, length in enumerate(lengths):
        while pile.left[opener]:
            pile.left[opener] -= 1
            lanes = [[opener]]
            for kind in pile.best_beside(room - widths[opener], length, bias):
                pile.left[kind] -= 1
                lanes.append([kind])
            for lane in lanes:
                pile.fill_lane(lane, length)
            sections.append(Section(length, tuple((widths[lane[0]], tuple(lane)) for lane in lanes)))
    return sections


class _Pile:
    """The pieces not yet in a section, by width."""

    def __init__(self, lengths: Sequence[int], widths: Sequence[int], left: list[int]) -> None:
        self.lengths, self.widths, self.left = lengths, widths, left
        groups: dict[int, list[int]] = {}
        for kind, width in enumerate(widths):
            groups.setdefault(width, []).append(kind)
        self.by_width = sorted(groups.items(), reverse=True)

    def best_beside(self, room: int, length: int, bias: int) -> tuple[int, ...]:
        """The kinds worth most that fit side by side in `room`: an exact knapsack over undominated states."""
        states: list[_State] = [(0, 0, ())]  # width and worth rise along the list
        for width, kinds in self.by_width:
            most = room // width
            for kind in kinds:
                if most <= 0:
                    break
                many = min(most, self.left[kind])
                most -= many
                worth = width * (_ONE * self.lengths[kind] ** bias // length**bias)
                for _ in range(many):
                    states = _undominated(
                        states,
                        [
                            (used + width, value + worth, (*chosen, kind))
                            for used, value, chosen in states
                            if used + width <= room
                        ],
                    )
        return states[-1][2]

    def fill_lane(self, lane: list[int], length: int) -> None:
        """Put shorter pieces of the lane's width, then narrower ones, into what is left of its length."""
        room = length - self.lengths[lane[0]]
        for width, kinds in self.by_width:
            if width > self.widths[lane[0]] or self.lengths[kinds[-1]] > room:
                continue
            here = [kind for kind in kinds if self.left[kind] and self.lengths[kind] <= room]
            if here:
                used, filling = fullest(room, here, self.lengths, self.left)
                for kind, many in filling:
                    self.left[kind] -= many
                    lane.extend([kind] * many)
                room -= used


def _undominated(one: list[_State], other: list[_State]) -> list[_State]:
    merged = sorted(one + other, key=lambda state: (state[0], -state[1], state[2]))
    kept: list[_State] = []
    worth = -1
    for state in merged:
        if state[1] > worth:
            kept.append(state)
            worth = state[1]
    return kept
