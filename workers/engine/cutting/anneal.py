"""Better sections piece by piece: single pieces change lanes or places, at first also where that loses a little.

Lanes are lengthened by whatever fits end to end, so sections come out whose longest lane no rule would have built.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workers.engine.cutting.dice import Dice
from workers.engine.cutting.sections import Section, waste_of

_ROUNDS = 16
_STEPS = 6_000  # in a round
_STEEP = 8  # a step may at first lose up to the mean section's length divided by this
_FEWEST = 6  # sections taken apart in a round


def annealed_plans(
    room: int, lengths: Sequence[int], widths: Sequence[int], plan: Sequence[Section]
) -> Iterator[list[Section]]:
    """Plans of the same pieces, each needing less roll than `plan` and all before it.

    In turn a few of the sections, those with much waste sooner, and any number of them are put together anew.
    """
    now = list(plan)
    dice = Dice(5)
    for number in range(_ROUNDS):
        spread = 3 if number % 2 else max(1, len(now) - _FEWEST + 1)
        chances = [waste_of(section, room, lengths, widths) * (1 + dice.below(4)) for section in now]
        poorest = sorted(range(len(now)), key=lambda at: (-chances[at], at))[: _FEWEST + dice.below(spread)]
        part = [now[at] for at in poorest]
        length = sum(section.length for section in part)
        found = _Lanes(room, lengths, widths, part, seed=number + 1).settled(length)
        if found is not None:
            gone = set(poorest)
            now = [section for at, section in enumerate(now) if at not in gone] + found
            if sum(section.length for section in found) < length:
                yield now


class _Lanes:
    """All lanes of all sections. Every section keeps an empty lane, and one section is empty altogether."""

    def __init__(
        self, room: int, lengths: Sequence[int], widths: Sequence[int], plan: Sequence[Section], *, seed: int
    ) -> None:
        self._room = room
        self._kinds: list[int] = []
        self._where: list[int] = []  # the lane of each piece
        self._held: list[list[int]] = []  # the pieces of each lane
        self._total: list[int] = []
        self._width: list[int] = []
        self._section: list[int] = []
        self._of: list[list[int]] = []  # the lanes of each section
        for section in plan:
            self._of.append([])
            for _, kinds in section.lanes:
                lane = self._new_lane(len(self._of) - 1)
                for kind in kinds:
                    self._held[lane].append(len(self._kinds))
                    self._where.append(lane)
                    self._kinds.append(kind)
        self._lengths = [lengths[kind] for kind in self._kinds]
        self._widths = [widths[kind] for kind in self._kinds]
        for lane, held in enumerate(self._held):
            self._total[lane] = sum(self._lengths[piece] for piece in held)
            self._width[lane] = max(self._widths[piece] for piece in held)
        for section_number in range(len(self._of)):
            self._new_lane(section_number)
        self._of.append([])
        self._new_lane(len(self._of) - 1)
        self._used = [sum(self._width[lane] for lane in lanes) for lanes in self._of]
        self._long = [max(self._total[lane] for lane in lanes) for lanes in self._of]
        self.length = sum(self._long)
        self._state = seed * 2_654_435_761 & 0xFFFFFFFF

    def _new_lane(self, section: int) -> int:
        self._held.append([])
        self._total.append(0)
        self._width.append(0)
        self._section.append(section)
        self._of[section].append(len(self._held) - 1)
        return len(self._held) - 1

    def settled(self, length: int) -> list[Section] | None:
        """The best plan after many steps, ever fewer of which may lose; None where all are longer than `length`."""
        found: list[Section] | None = None
        best = length + 1
        steep = self.length // (_STEEP * len(self._of))
        state, pieces = self._state, len(self._kinds)
        where, held, lengths, widths = self._where, self._held, self._lengths, self._widths
        for left in range(_STEPS, 0, -1):
            state = (state * 1_664_525 + 1_013_904_223) & 0xFFFFFFFF
            dice = state >> 8
            piece, dice = dice % pieces, dice // pieces
            state = (state * 1_664_525 + 1_013_904_223) & 0xFFFFFFFF
            lane = (state >> 8) % len(held)
            home = where[piece]
            if lane == home:
                continue
            other = -1
            if dice & 1 and held[lane]:
                other = held[lane][(dice >> 1) % len(held[lane])]
            wide_home = wide_lane = 0
            for one in held[home]:
                if one != piece and widths[one] > wide_home:
                    wide_home = widths[one]
            for one in held[lane]:
                if one != other and widths[one] > wide_lane:
                    wide_lane = widths[one]
            moved = lengths[piece]
            wide_lane = max(wide_lane, widths[piece])
            if other >= 0:
                moved -= lengths[other]
                wide_home = max(wide_home, widths[other])
            may_lose = (dice >> 4) % (steep * left * left // (_STEPS * _STEPS) + 1)
            if not self._changed(home, lane, moved, wide_home, wide_lane, may_lose):
                continue
            held[home].remove(piece)
            held[lane].append(piece)
            where[piece] = lane
            if other >= 0:
                held[lane].remove(other)
                held[home].append(other)
                where[other] = home
            elif len(held[lane]) == 1:
                self._keep_an_empty_lane(self._section[lane])
            if self.length < best:
                best = self.length
                found = self._sections()
        return found

    def _changed(
        self, home: int, lane: int, moved: int, wide_home: int, wide_lane: int, may_lose: int
    ) -> bool:
        """Move a length from lane to lane, if the widths allow it and not more than `may_lose` is lost."""
        total, width, used, long = self._total, self._width, self._used, self._long
        here, there = self._section[home], self._section[lane]
        more_here, more_there = wide_home - width[home], wide_lane - width[lane]
        if here == there:
            if used[here] + more_here + more_there > self._room:
                return False
        elif used[here] + more_here > self._room or used[there] + more_there > self._room:
            return False
        total[home] -= moved
        total[lane] += moved
        long_here = max([total[one] for one in self._of[here]])  # a list is quicker here than a generator
        long_there = long_here if here == there else max([total[one] for one in self._of[there]])
        lost = long_here - long[here]
        if here != there:
            lost += long_there - long[there]
        if lost > may_lose:
            total[home] += moved
            total[lane] -= moved
            return False
        long[here], long[there] = long_here, long_there
        used[here] += more_here
        used[there] += more_there
        width[home], width[lane] = wide_home, wide_lane
        self.length += lost
        return True

    def _keep_an_empty_lane(self, section: int) -> None:
        if all(self._held[lane] for lane in self._of[section]):
            self._new_lane(section)
        if all(self._long):
            self._of.append([])
            self._new_lane(len(self._of) - 1)
            self._used.append(0)
            self._long.append(0)

    def _sections(self) -> list[Section]:
        made: list[Section] = []
        for long, lanes in zip(self._long, self._of, strict=True):
            if long:
                full = [lane for lane in lanes if self._held[lane]]
                # the longest lane first, in each the longest piece first
                full.sort(key=lambda lane: (-self._total[lane], -self._width[lane], lane))
                made.append(
                    Section(
                        long,
                        tuple(
                            (
                                self._width[lane],
                                tuple(sorted(self._kinds[piece] for piece in self._held[lane])),
                            )
                            for lane in full
                        ),
                    )
                )
        return made
