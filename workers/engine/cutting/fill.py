"""Filling rolls one after the other: first fit, best fit, and as full as sums allow.

The last takes the longest bar left and fills the rest of the roll as full as whole millimetres allow; which sums
can be reached is kept as the bits of one large integer (subset sum).
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence

from workers.engine.cutting.problem import Filling

_MANY, _SPREAD = 240, 120


def fullest(
    room: int, kinds: Sequence[int], lengths: Sequence[int], counts: Sequence[int] | Mapping[int, int]
) -> tuple[int, Filling]:
    """The greatest sum of lengths not above `room`, and one choice that reaches it, long bars preferred."""
    mask = (2 << room) - 1
    full = 1 << room
    reach = 1
    steps: list[tuple[int, int, int]] = []
    for kind in kinds:
        length, left = lengths[kind], min(counts[kind], room // lengths[kind])
        part = 1
        while left > 0:
            part = min(part, left)
            steps.append((reach, kind, part))
            reach |= (reach << part * length) & mask
            left -= part
            part *= 2
        if reach & full:
            break
    best = at = reach.bit_length() - 1
    chosen: dict[int, int] = {}
    for before, kind, part in reversed(steps):
        if not (before >> at) & 1:
            chosen[kind] = chosen.get(kind, 0) + part
            at -= part * lengths[kind]
    return best, tuple(sorted(chosen.items()))


def fill_one(room: int, kinds: Sequence[int], lengths: Sequence[int], counts: Sequence[int]) -> Filling:
    """One roll: the longest bar that fits for certain, the rest as full as possible."""
    left = list(counts)
    here = [kind for kind in kinds if left[kind] and lengths[kind] <= room]
    if not here:
        return ()
    longest = here[0]
    left[longest] -= 1
    if len(here) > _MANY:  # a spread of lengths nearly always fills a roll; the others wait behind it
        step = len(here) // _SPREAD
        here = here[::step] + [kind for at, kind in enumerate(here) if at % step]
    _, rest = fullest(room - lengths[longest], here, lengths, left)
    chosen = dict(rest)
    chosen[longest] = chosen.get(longest, 0) + 1
    return tuple(sorted(chosen.items()))


def repeats(filling: Filling, counts: Sequence[int]) -> int:
    """How often a filling can be cut from what is left."""
    return min(counts[kind] // many for kind, many in filling)


def take(filling: Filling, counts: list[int], times: int = 1) -> None:
    """Take a filling out of what is left, in place."""
    for kind, many in filling:
        counts[kind] -= many * times


def first_fit(
    rooms: Sequence[int], spare: int, lengths: Sequence[int], counts: Sequence[int]
) -> list[dict[int, int]] | None:
    """Longest bars first, each into the first roll with room; further rolls are `spare` long (0: there are none).

    Returns what each roll holds, further rolls at the end; None where a bar is left over.
    """
    left_in = list(rooms)
    held: list[dict[int, int]] = [{} for _ in left_in]
    shortest = min((length for length, count in zip(lengths, counts, strict=True) if count), default=1)
    usable = [roll for roll, room in enumerate(left_in) if room >= shortest]
    for kind, wanted in enumerate(counts):
        length, left = lengths[kind], wanted
        if not left:
            continue
        for roll in usable:
            many = min(left, left_in[roll] // length)
            if many:
                left_in[roll] -= many * length
                held[roll][kind] = many
                left -= many
                if not left:
                    break
        while left:
            if spare < length:
                return None
            many = min(left, spare // length)
            left_in.append(spare - many * length)
            held.append({kind: many})
            usable.append(len(held) - 1)
            left -= many
        usable = [roll for roll in usable if left_in[roll] >= shortest]
    return held


def best_fit(
    rooms: Sequence[int], spare: int, lengths: Sequence[int], counts: Sequence[int]
) -> list[dict[int, int]] | None:
    """Longest bars first, each into the roll it fills best; otherwise as `first_fit`."""
    held: list[dict[int, int]] = [{} for _ in rooms]
    by_room = sorted((room, roll) for roll, room in enumerate(rooms))
    for kind, wanted in enumerate(counts):
        length = lengths[kind]
        for _ in range(wanted):
            at = bisect_left(by_room, (length, -1))
            if at < len(by_room):
                room, roll = by_room.pop(at)
            elif spare >= length:
                room, roll = spare, len(held)
                held.append({})
            else:
                return None
            held[roll][kind] = held[roll].get(kind, 0) + 1
            insort(by_room, (room - length, roll))
    return held
