"""One long remnant instead of many short ends: bars move from the roll least filled into the others."""

from __future__ import annotations

from collections.abc import Sequence

from workers.engine.cutting.fill import fullest
from workers.engine.cutting.problem import Source
from workers.engine.cutting.sections import Section
from workers.engine.cutting.sizes import Cutting

_ROLLS_LOOKED_AT = 400


def gather_remnant(cutting: Cutting, sources: Sequence[Source]) -> Cutting:
    """The same pieces from the same rolls or fewer, with the longest remnant lengthened as far as swaps reach.

    Every other roll in turn is filled as full as it can be from its own bars and those of the roll with the
    remnant; the rest goes back on that roll. Costs never rise: a roll left empty is not opened.
    """
    rolls = [(source, list(sections)) for source, sections in cutting]
    bought = [at for at, (source, _) in enumerate(rolls) if sources[source].cost > 0]
    if not bought:
        return cutting

    def spare(at: int) -> int:
        return sources[rolls[at][0]].length - sum(section.length for section in rolls[at][1])

    target = max(bought, key=lambda at: (spare(at), -at))
    others = sorted((at for at in range(len(rolls)) if at != target), key=lambda at: (-spare(at), at))
    for at in others[:_ROLLS_LOOKED_AT]:
        if not rolls[target][1]:
            break
        if spare(at) > 0:
            _exchange(rolls, at, target, sources)
    return [(source, sections) for source, sections in rolls if sections]


def _exchange(
    rolls: list[tuple[int, list[Section]]], at: int, target: int, sources: Sequence[Source]
) -> None:
    source = sources[rolls[at][0]]
    bars = sorted(rolls[at][1] + rolls[target][1], key=lambda one: (-one.length, -one.width, one.lanes))
    lengths = [bar.length for bar in bars]
    fitting = [
        number for number, bar in enumerate(bars) if bar.width <= source.width and bar.length <= source.length
    ]
    used, filling = fullest(source.length, fitting, lengths, [1] * len(bars))
    if used <= sum(section.length for section in rolls[at][1]):
        return
    chosen = {number for number, _ in filling}
    rest = [bar for number, bar in enumerate(bars) if number not in chosen]
    wide = sources[rolls[target][0]].width
    if any(bar.width > wide or bar.length > sources[rolls[target][0]].length for bar in rest):
        return
    rolls[at] = (rolls[at][0], [bars[number] for number in sorted(chosen)])
    rolls[target] = (rolls[target][0], rest)
