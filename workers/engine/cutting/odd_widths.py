"""Offcuts that are not as wide as the roll: filled first, from the pieces that fit them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from workers.engine.cutting.fill import fullest
from workers.engine.cutting.sections import Manner, Pile, Section
from workers.engine.cutting.sizes import Cutting, Sizes

_MANNERS = (Manner(4, stacked=True), Manner(16), Manner(1, stacked=True))


def main_width(sizes: Sizes) -> int:
    """The width that most is cut from: the widest that can be bought without limit, else the widest there is."""
    unlimited = [source.width for source in sizes.sources if source.limit is None]
    return max(unlimited or [source.width for source in sizes.sources])


def cut_odd_widths(sizes: Sizes, room: int) -> Iterator[tuple[Cutting, Sizes]]:
    """What is cut from stock of other widths first, and what is then left to cut.

    First with all such stock that is free, then with only what is needed for pieces that fit nothing else.
    """
    odd = [
        index
        for index, source in enumerate(sizes.sources)
        if source.limit is not None and source.limit > 0 and source.width != room
    ]
    needy = [not _fits_main(sizes, kind, odd) for kind in range(len(sizes.lengths))]
    free = [index for index in odd if sizes.sources[index].cost == 0]
    if free:
        yield _cut_from(sizes, odd if any(needy) else free, needy, everything=True)
    yield _cut_from(sizes, odd if any(needy) else [], needy, everything=False)


def _fits_main(sizes: Sizes, kind: int, odd: Sequence[int]) -> bool:
    return any(
        sizes.lengths[kind] <= source.length and sizes.widths[kind] <= source.width
        for index, source in enumerate(sizes.sources)
        if index not in odd
    )


def _cut_from(
    sizes: Sizes, odd: Sequence[int], needy: Sequence[bool], *, everything: bool
) -> tuple[Cutting, Sizes]:
    left = list(sizes.counts)
    cutting: Cutting = []
    order = sorted(odd, key=lambda i: (sizes.sources[i].width, sizes.sources[i].length, i))
    for index in order:
        source = sizes.sources[index]
        for _ in range(source.limit or 0):
            here = [
                kind
                for kind, count in enumerate(left)
                if count and sizes.lengths[kind] <= source.length and sizes.widths[kind] <= source.width
            ]
            if not here or not (everything or any(needy[kind] for kind in here)):
                break
            sections = _best_sections(sizes, index, here, left, needy)
            cutting.append((index, sections))
            for section in sections:
                for _, lane in section.lanes:
                    for kind in lane:
                        left[kind] -= 1
    used = set(odd)
    sources = tuple(
        replace(source, limit=0)
        if index in used or (source.limit is not None and source.width < min(sizes.widths))
        else source
        for index, source in enumerate(sizes.sources)
    )
    return cutting, replace(sizes, counts=tuple(left), sources=sources)


def _best_sections(
    sizes: Sizes, index: int, kinds: Sequence[int], left: Sequence[int], needy: Sequence[bool]
) -> list[Section]:
    """Sections of one offcut: those that waste least width first, then as many as its length holds."""
    source = sizes.sources[index]
    best: list[Section] = []
    most = 0
    for manner in _MANNERS:
        counts = [left[kind] for kind in kinds]
        pile = Pile(source.width, [sizes.lengths[k] for k in kinds], [sizes.widths[k] for k in kinds], counts)
        made = [
            Section(one.length, tuple((width, tuple(kinds[k] for k in lane)) for width, lane in one.lanes))
            for one in pile.sections(manner)
        ]
        for dense in (900, 750, 0):
            chosen = _as_many_as_fit(sizes, index, made, dense, needy)
            worth = sum(_area(sizes, one) + (_need(one, needy) << 60) for one in chosen)
            if worth > most:
                best, most = chosen, worth
    return best


def _as_many_as_fit(
    sizes: Sizes, index: int, made: Sequence[Section], dense: int, needy: Sequence[bool]
) -> list[Section]:
    """Sections in need first; then of those at least `dense` thousandths full as much length as fits; then others."""
    source = sizes.sources[index]
    room = source.length
    chosen: list[Section] = []
    for one in made:
        if _need(one, needy) and one.length <= room:
            chosen.append(one)
            room -= one.length
    others = [one for one in made if not _need(one, needy)]
    full = [one for one in others if 1000 * _area(sizes, one) >= dense * one.length * source.width]
    for group in (full, [one for one in others if one not in full]):
        here = [number for number, one in enumerate(group) if one.length <= room]
        if here:
            used, filling = fullest(room, here, [one.length for one in group], [1] * len(group))
            chosen.extend(group[number] for number, _ in filling)
            room -= used
    return chosen


def _area(sizes: Sizes, section: Section) -> int:
    return sum(sizes.lengths[kind] * sizes.widths[kind] for _, lane in section.lanes for kind in lane)


def _need(section: Section, needy: Sequence[bool]) -> bool:
    return any(needy[kind] for _, lane in section.lanes for kind in lane)
