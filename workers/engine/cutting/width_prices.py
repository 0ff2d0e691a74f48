"""The best bound that weights of pieces can give where pieces lie side by side.

As in `width_bounds`, but every kind of piece has a weight of its own, found by a linear programme: what the roll's
length costs least, if every piece could be cut up along the roll as one likes. The programme's prices are rounded
down to whole numbers before the most that fits side by side is sought, so the bound is exact. No kind counts more
often in one place than there are pieces of it, which no function of the width alone knows.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import reduce
from math import ceil, gcd

from workers.engine.cutting.cover import Cover
from workers.engine.cutting.master import Master
from workers.engine.cutting.pricing import Knapsack
from workers.engine.cutting.problem import Lengths, Source
from workers.engine.cutting.sizes import Sizes
from workers.engine.cutting.work import Work

_SCALE = 1 << 24
_EDGE = 1e-7
_ROUNDS = 120
_FEW_KINDS, _MOST_KINDS = 20, 160
_LITTLE = 100


def bound_by_prices(sizes: Sizes, known: int, work: Work) -> int:
    """No cutting costs less, whatever lies beside what. `known` where this cannot be more, or is too much to do."""
    kinds = [kind for kind, count in enumerate(sizes.counts) if count]
    widest = max(source.width for source in sizes.sources)
    narrowest = min(sizes.widths[kind] for kind in kinds)
    beside = [kind for kind in kinds if sizes.widths[kind] + narrowest <= widest]
    if not beside or len(beside) > _MOST_KINDS:
        return known
    step = reduce(gcd, (sizes.widths[kind] for kind in beside))
    widths = [sizes.widths[kind] // step for kind in beside]
    counts = [sizes.counts[kind] for kind in beside]
    alone = sum(
        sizes.lengths[kind] * sizes.counts[kind] for kind in kinds if sizes.widths[kind] + narrowest > widest
    )
    rooms = [source.length for source in sizes.sources]

    def hopeful(length: float) -> bool:
        return Cover(sizes.sources, rooms, alone + ceil(length)).bound() > known

    # with many kinds the prices add little to the area, and are looked for only where a little is enough
    area = sum(sizes.lengths[kind] * sizes.counts[kind] * sizes.widths[kind] for kind in beside) / widest
    if len(beside) > _FEW_KINDS and not hopeful(area + (alone + area) / _LITTLE):
        return known
    worths = _worths(sizes, beside, widths, widest // step, hopeful, work)
    if not worths:
        return known
    table = Knapsack(widest // step, range(len(beside)), widths, counts, worths)
    most = table.worth(widest // step)
    # what leaves no room beside it is worth all that lies side by side elsewhere
    of_kind = dict.fromkeys(kinds, most) | dict(zip(beside, worths, strict=True))
    target = sum(sizes.lengths[kind] * sizes.counts[kind] * worth for kind, worth in of_kind.items())
    values: list[int] = []
    for source in sizes.sources:
        fits = [
            kind
            for kind in kinds
            if sizes.lengths[kind] <= source.length and sizes.widths[kind] <= source.width
        ]
        has_alone = any(sizes.widths[kind] + narrowest > widest for kind in fits)
        across = most if has_alone else table.worth(min(source.width, widest) // step)
        held = sum(sizes.lengths[kind] * sizes.counts[kind] * of_kind[kind] for kind in fits)
        values.append(min(source.length * across, held))
    return max(known, Cover(sizes.sources, values, target).bound())


def _worths(
    sizes: Sizes,
    beside: Sequence[int],
    widths: Sequence[int],
    room: int,
    hopeful: Callable[[float], bool],
    work: Work,
) -> list[int]:
    """A whole worth for every kind, by column generation over what lies side by side.

    None once the least length in the programme, which only falls, is no longer `hopeful`.
    """
    counts = [sizes.counts[kind] for kind in beside]
    wanted = tuple(sizes.lengths[kind] * sizes.counts[kind] for kind in beside)
    master = Master(Lengths(tuple(widths), (1,) * len(widths), wanted, (Source(room, 1, 1, None),)))
    for at, width in enumerate(widths):
        master.add(0, ((at, min(counts[at], room // width)),))
    worths: list[int] = []
    for _ in range(_ROUNDS):
        work.spend(150_000 + 60 * len(widths) * (len(master.columns) // 8 + 20))
        length, prices, _ = master.solve()
        if not hopeful(length):
            return []
        worths = [int(price * _SCALE) for price in prices]
        table = Knapsack(room, range(len(widths)), widths, counts, worths)
        work.spend(table.steps)
        if table.worth(room) <= (1 + _EDGE) * _SCALE or not master.add(0, table.filling(room)):
            break
    return worths
