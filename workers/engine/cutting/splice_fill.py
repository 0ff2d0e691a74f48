"""Rolls laid end to end: each filled as full as whole cuts allow, and where too much is left, a piece goes over into
the next.

What comes out is only which pieces to splice and where; the rolls are cut anew afterwards, by the same methods as
without splices.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from workers.engine.cutting.fill import fullest
from workers.engine.cutting.splice_places import SplicePlace

_LOOKED_AT = 60  # places nearest to filling a roll that are looked at for one that is still free


@dataclass(frozen=True, slots=True)
class Bar:
    """A cut as it lies across a roll without splices; no places where it holds more than one whole piece."""

    length_mm: int
    width_mm: int
    places: tuple[SplicePlace, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class _Way:
    """A bar in two: what goes into this roll and what into the next."""

    here_mm: int
    there_mm: int
    bar: int
    place: int


def end_to_end(
    bars: Sequence[Bar], rolls: Sequence[tuple[int, int]], thrift: int, lead: Literal["longest", "shortest"]
) -> tuple[SplicePlace, ...] | None:
    """Places that let all bars be cut from these rolls (length, width) in their order; None where none were found.

    At most one piece goes over from a roll to the next. What a roll may leave unused without a splice is its equal
    share of all that may be left, `thrift` times: 0 splices wherever that wastes less. Every roll holds the longest or
    the shortest bar that is left, as `lead` says.
    """
    left = list(range(len(bars)))
    spare = sum(length for length, _ in rolls) - sum(bar.length_mm for bar in bars)
    ways = sorted(
        way
        for number, bar in enumerate(bars)
        for at, place in enumerate(bar.places)
        for way in (
            _Way(place.first_mm, place.second_mm, number, at),
            _Way(place.second_mm, place.first_mm, number, at),
        )
    )
    chosen: list[SplicePlace] = []
    carried: tuple[int, int] | None = None  # length and width
    for number, (length, width) in enumerate(rolls):
        if spare < 0:
            return None
        room = length
        if carried is not None:
            if carried[0] > room or carried[1] > width:
                return None
            room -= carried[0]
            carried = None
        whole, gap = _filling(bars, left, room, width, lead)
        rest = [bar for bar in left if bar not in whole]
        if not rest:
            return tuple(chosen)
        if number + 1 == len(rolls):
            break
        way, without = None, None
        if gap * (len(rolls) - number) > thrift * spare:
            way, without = _over(bars, ways, whole, rest, gap, width)
        if way is None:
            spare -= gap
            left = rest
            continue
        bar = bars[way.bar]
        place = bar.places[way.place]
        chosen.append(place)
        carried = (way.there_mm, bar.width_mm)
        spare -= place.more_mm + gap + (bars[without].length_mm if without is not None else 0) - way.here_mm
        left = [one for one in [*rest, *([without] if without is not None else [])] if one != way.bar]
        left.sort()
    return None


def _filling(
    bars: Sequence[Bar], left: Sequence[int], room: int, width: int, lead: Literal["longest", "shortest"]
) -> tuple[set[int], int]:
    """The bars that fill a roll fullest, and what is left of it; the leading one is in it for certain."""
    here = [bar for bar in left if bars[bar].length_mm <= room and bars[bar].width_mm <= width]
    if not here:
        return set(), room
    lengths = [bar.length_mm for bar in bars]
    sign = 1 if lead == "longest" else -1
    first = max(here, key=lambda bar: (sign * lengths[bar], -bar))
    here.remove(first)
    filled, rest = fullest(room - lengths[first], here, lengths, [1] * len(bars))
    return {first, *(bar for bar, _ in rest)}, room - lengths[first] - filled


def _over(
    bars: Sequence[Bar], ways: Sequence[_Way], whole: set[int], rest: Sequence[int], gap: int, width: int
) -> tuple[_Way | None, int | None]:
    """The piece that goes over with the least waste, and the bar that makes way for it in this roll, if one does.

    None where that wastes no less than the gap as it is.
    """
    free = set(rest)
    found: list[tuple[int, int, _Way, int | None]] = []
    lengths: set[int] = set()
    for without in (None, *sorted(whole)):
        more = 0 if without is None else bars[without].length_mm
        if more in lengths:
            continue
        lengths.add(more)
        room = gap + more
        end = bisect_right(ways, room, key=lambda way: way.here_mm)
        for way in reversed(ways[max(0, end - _LOOKED_AT) : end]):
            bar = bars[way.bar]
            if (way.bar in free or way.bar == without) and bar.width_mm <= width:
                waste = room - way.here_mm + bar.places[way.place].more_mm
                found.append((waste, bar.places[way.place].joint_mm, way, without))
    if not found:
        return None, None
    waste, _, way, without = min(found, key=lambda one: (one[0], one[1], one[2], one[3] or -1))
    return (way, without) if waste < gap else (None, None)
