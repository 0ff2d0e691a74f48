"""Narrow pieces side by side: sections, each a length cut across the roll and ripped into lanes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workers.engine.cutting.dice import Dice
from workers.engine.cutting.fill import fullest

BIASES = (16, 4, 8, 2, 1)
_ONE = 1 << 20
_OPENERS = 3
_LANES, _LANES_OF_MANY, _MANY = 200, 40, 600
_ABREAST = 16
_State = tuple[int, int, tuple[int, ...]]  # width used, worth below zero, lanes


@dataclass(frozen=True, slots=True)
class Section:
    """One length of roll; each lane is a width and the kinds of piece it holds end to end."""

    length: int
    lanes: tuple[tuple[int, tuple[int, ...]], ...]

    @property
    def width(self) -> int:
        """Width of all lanes together."""
        return sum(width for width, _ in self.lanes)


def waste_of(section: Section, room: int, lengths: Sequence[int], widths: Sequence[int]) -> int:
    """The area of a section that no piece takes, in a roll `room` wide."""
    used = sum(lengths[kind] * widths[kind] for _, lane in section.lanes for kind in lane)
    return section.length * room - used


@dataclass(frozen=True, slots=True)
class Manner:
    """How sections are put together.

    A lane is worth width × (its length ÷ section length) to the power `bias`, shaken by up to an eighth where there
    are `dice`. With `stacked`, lanes of several short pieces are weighed as well as single ones. With `reach`, the
    first lane is lengthened by further pieces up to that length (or, with dice, up to any length to there).
    """

    bias: int
    stacked: bool = False
    reach: int = 0
    dice: Dice | None = None


class Pile:
    """Pieces not yet in a section. Kinds are sorted longest first."""

    def __init__(
        self, room: int, lengths: Sequence[int], widths: Sequence[int], counts: Sequence[int]
    ) -> None:
        self.room, self.lengths, self.widths, self.left = room, lengths, widths, list(counts)
        groups: dict[int, list[int]] = {}
        for kind, width in enumerate(widths):
            if counts[kind]:
                groups.setdefault(width, []).append(kind)
        self._by_width = sorted(groups.items(), reverse=True)
        self._most_lanes = _LANES if sum(counts) <= _MANY else _LANES_OF_MANY

    def sections(self, manner: Manner) -> list[Section]:
        """Put every piece into a section: the longest left (with dice, one of the longest) opens
        it, beside it lie the lanes worth most.
        """
        made: list[Section] = []
        waiting = [kind for kind in range(len(self.lengths)) if self.left[kind]]
        while waiting:
            at = manner.dice.below(min(_OPENERS, len(waiting))) if manner.dice is not None else 0
            opener = waiting[at]
            first, length = self._first_lane(opener, manner)
            lanes = [first, *self._beside(self.room - self.widths[opener], length, manner)]
            for lane in lanes:
                self._fill_lane(lane, length)
            made.append(Section(length, tuple((self.widths[lane[0]], tuple(lane)) for lane in lanes)))
            waiting = [kind for kind in waiting if self.left[kind]]
        return made

    def _first_lane(self, opener: int, manner: Manner) -> tuple[list[int], int]:
        self.left[opener] -= 1
        length = self.lengths[opener]
        room = manner.reach - length
        if room > 0 and manner.dice is not None:
            room = manner.dice.below(room + 1)
        if room <= 0:
            return [opener], length
        here = [
            kind
            for kind in dict(self._by_width)[self.widths[opener]]
            if self.left[kind] and self.lengths[kind] <= room
        ]
        if not here:
            return [opener], length
        used, filling = fullest(room, here, self.lengths, self.left)
        lane = [opener]
        for kind, many in filling:
            self.left[kind] -= many
            lane.extend([kind] * many)
        return lane, length + used

    def _beside(self, room: int, length: int, manner: Manner) -> list[list[int]]:
        """The lanes worth most that fit side by side in `room`: an exact knapsack over undominated states.

        Where there are very many lanes to choose from, the longest are taken until the rest is a small choice.
        """
        lanes: list[tuple[int, int, list[int]]] = []  # length used, width, kinds
        for width, kinds in self._by_width:
            if width <= room:
                lanes.extend(
                    (used, width, lane)
                    for lane, used in self._lanes(room // width, length, kinds, stacked=manner.stacked)
                )
        taken: list[list[int]] = []
        if len(lanes) > self._most_lanes:
            lanes.sort(key=lambda lane: (-lane[0], -lane[1], lane[2]))
            narrowest = min(width for _, width, _ in lanes)
            while room > _ABREAST * narrowest and len(lanes) > self._most_lanes:
                _, width, lane = lanes.pop(0)
                if width <= room:
                    taken.append(lane)
                    room -= width
            del lanes[self._most_lanes :]
        taken.extend(_worth_most(room, length, lanes, manner))
        for lane in taken:
            for kind in lane:
                self.left[kind] -= 1
        return taken

    def _lanes(
        self, most: int, length: int, kinds: Sequence[int], *, stacked: bool
    ) -> list[tuple[list[int], int]]:
        """Up to `most` lanes of one width with the length each uses; they share no piece."""
        lanes: list[tuple[list[int], int]] = []
        if not stacked:
            for kind in kinds:
                if self.left[kind] and self.lengths[kind] <= length:
                    many = min(self.left[kind], most - len(lanes))
                    lanes.extend(([kind], self.lengths[kind]) for _ in range(many))
                    if len(lanes) == most:
                        break
            return lanes
        left = {kind: self.left[kind] for kind in kinds if self.left[kind] and self.lengths[kind] <= length}
        for first in tuple(left):
            while left[first] and len(lanes) < most:
                left[first] -= 1
                lane, used = [first], self.lengths[first]
                here = [kind for kind in left if left[kind] and self.lengths[kind] <= length - used]
                more, filling = fullest(length - used, here, self.lengths, left) if here else (0, ())
                for kind, many in filling:
                    left[kind] -= many
                    lane.extend([kind] * many)
                lanes.append((lane, used + more))
        return lanes

    def _fill_lane(self, lane: list[int], length: int) -> None:
        """Put shorter pieces of the lane's width, then narrower ones, into what is left of its length."""
        room = length - sum(self.lengths[kind] for kind in lane)
        for width, kinds in self._by_width:
            if width > self.widths[lane[0]] or self.lengths[kinds[-1]] > room:
                continue
            here = [kind for kind in kinds if self.left[kind] and self.lengths[kind] <= room]
            if here:
                used, filling = fullest(room, here, self.lengths, self.left)
                for kind, many in filling:
                    self.left[kind] -= many
                    lane.extend([kind] * many)
                room -= used


def _worth_most(
    room: int, length: int, lanes: Sequence[tuple[int, int, list[int]]], manner: Manner
) -> list[list[int]]:
    states: list[_State] = [(0, 0, ())]  # width rises and worth (kept negative) falls along the list
    for number, (used, width, _) in enumerate(lanes):
        worth = width * (_ONE * used**manner.bias // length**manner.bias)
        if manner.dice is not None:
            worth += worth * manner.dice.below(256) // 2048
        added = [
            (taken + width, value - worth, (*chosen, number))
            for taken, value, chosen in states
            if taken + width <= room
        ]
        if added:
            states = _undominated(states, added)
    return [lanes[number][2] for number in states[-1][2]]


def _undominated(one: list[_State], other: list[_State]) -> list[_State]:
    kept: list[_State] = []
    least = 1
    for state in sorted(one + other):
        if state[1] < least:
            kept.append(state)
            least = state[1]
    return kept
