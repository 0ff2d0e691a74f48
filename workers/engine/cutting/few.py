"""Few pieces side by side: the sections that need the least roll in all, found by looking at every choice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workers.engine.cutting.sections import Section

FEW = 11  # three to the power of so many steps

_Lane = tuple[int, int, tuple[int, ...]]  # length, width, sets of pieces


def shortest_sections(
    room: int, lengths: Sequence[int], widths: Sequence[int], kinds: Sequence[int]
) -> list[Section]:
    """Sections in a roll `room` wide, of one piece of each of `kinds` (a kind may be named again).

    No sections whose lanes hold pieces end to end are shorter in all. A set of pieces is the bits of a number.
    """
    sets = 1 << len(kinds)
    long, wide = [0] * sets, [0] * sets
    for these in range(1, sets):
        kind, others = kinds[(these & -these).bit_length() - 1], these & (these - 1)
        long[these] = long[others] + lengths[kind]
        wide[these] = max(wide[others], widths[kind])
    # every set as one section: the lane of its first piece beside the best lanes of the others
    as_section: list[list[_Lane]] = [[(0, 0, ())], *([] for _ in range(sets - 1))]
    for these in range(1, sets):
        found = [
            (max(length, long[lane]), width + wide[lane], (*lanes, lane))
            for lane in _with_the_first(these)
            if wide[lane] <= room
            for length, width, lanes in as_section[these ^ lane]
            if width + wide[lane] <= room
        ]
        as_section[these] = _undominated(found)
    least = [0] * sets
    chosen = [0] * sets
    for these in range(1, sets):
        least[these], chosen[these] = min(
            (as_section[part][0][0] + least[these ^ part], part)
            for part in _with_the_first(these)
            if as_section[part]
        )
    made: list[Section] = []
    left = sets - 1
    while left:
        length, _, lanes = as_section[chosen[left]][0]
        made.append(
            Section(
                length,
                tuple(
                    (
                        wide[lane],
                        tuple(sorted(kind for at, kind in enumerate(kinds) if lane >> at & 1)),
                    )
                    for lane in sorted(lanes, key=lambda one: (-long[one], one))
                ),
            )
        )
        left ^= chosen[left]
    return made


def _with_the_first(these: int) -> Iterator[int]:
    """All parts of a set that hold its first piece."""
    first = these & -these
    rest = part = these ^ first
    while True:
        yield part | first
        if not part:
            return
        part = (part - 1) & rest


def _undominated(lanes: list[_Lane]) -> list[_Lane]:
    """Shortest first, each narrower than the one before."""
    kept: list[_Lane] = []
    for one in sorted(lanes):
        if not kept or one[1] < kept[-1][1]:
            kept.append(one)
    return kept
