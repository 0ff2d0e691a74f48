"""The cheapest mix of packs that covers an amount: exact, with a price for quantity in every pack size.

The problem: choose whole numbers n_i ≥ 0 of pack sizes s_i with Σ n_i · s_i ≥ amount and least Σ n_i · p_i(n_i),
where p_i(n) is the price of one pack when n are bought.

Why the answer is exact. Sizes are taken one after another; a state is (amount covered, money, counts so far).

1. For a state with `rest` still to cover, counts of a size above ceil(rest ÷ s_i) cover no more than that count
   does, and inside a stretch of equal p_i each further pack only adds money (prices are not negative). So beyond
   ceil(rest ÷ s_i) only the counts at which a new price begins can be cheaper; all other counts may be left out.
2. Of two states after the same sizes, one that covers no less for no more money can take the place of the other in
   any completion, since what follows depends on the rest alone and needs no more of it. So only states that no
   other one beats are kept.
3. No pack is ever cheaper by the unit than the lowest price of the sizes still to come, so a state's money plus
   its rest at that rate is a lower bound of every completion. Every total is a multiple of the common measure of
   all prices, so one that is cheaper than a known complete choice is cheaper by that at least; a state whose bound
   lies above this cannot lead to one.

The amount is first rounded up to the common measure of the sizes, since every mix covers a multiple of it. A first
good choice (each size alone; nearly all in the size cheapest by the unit and the rest exactly) only serves to leave
out more under 3. Where choices found cost the same, the one that covers more is taken, then the one of fewer packs,
then more of the larger sizes; nothing depends on chance.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_FLOOR, Context, Decimal, localcontext
from math import gcd
from typing import NamedTuple

from api_schema.price_book import Pack
from workers.engine.refusal import SettingRefused

EXACT = Context(prec=60)
MOST_PACKS = 5000
_MOST_LEFT = 16


class _State(NamedTuple):
    money: Decimal
    covered: Decimal
    packs: int
    counts: tuple[int, ...]


def _rank(state: _State) -> tuple[Decimal, Decimal, int, tuple[int, ...]]:
    """The lower the better."""
    return (state.money, -state.covered, state.packs, tuple(-count for count in state.counts))


def pack_price(pack: Pack, count: int) -> Decimal:
    """Price of one pack when `count` are bought: that of the highest break reached."""
    reached = [step for step in pack.breaks if step.from_packs <= count]
    return max(reached, key=lambda step: step.from_packs).price if reached else pack.price


def cheapest_packs(packs: Sequence[Pack], amount: Decimal) -> tuple[int, ...]:
    """How many of each pack to buy so that `amount` (in the packs' unit) is covered for the least money.

    The counts stand in the order of `packs`. Nothing is bought for an amount of zero or less.

    Raises:
        ValueError: if there are no packs to cover an amount with.
        SettingRefused: if more than MOST_PACKS of a size would be needed, which is a size typed wrongly rather than an order.
    """
    if amount <= 0:
        return (0,) * len(packs)
    if not packs:
        raise ValueError("There are no packs to cover the amount with.")
    for pack in packs:
        if amount > pack.size * MOST_PACKS:
            raise SettingRefused(
                "price book",
                f"More than {MOST_PACKS} packs of {pack.size:f} would be needed to cover {amount:f}; "
                "check the pack sizes in the price book.",
            )
    order = sorted(range(len(packs)), key=lambda index: (-packs[index].size, index))
    with localcontext(EXACT):
        step = _common_measure([pack.size for pack in packs])
        steps, over = divmod(amount, step)  # every mix covers whole steps
        best = _search([packs[index] for index in order], (steps + (over > 0)) * step)
    return tuple(best.counts[order.index(index)] for index in range(len(packs)))


def _search(packs: Sequence[Pack], amount: Decimal) -> _State:
    """The cheapest choice for an amount of any size: a good choice first, then everything that could beat it."""
    rates = [_lowest_rate(pack) for pack in packs]
    main = packs[rates.index(min(rates))]
    known = [_only(packs, index, amount) for index in range(len(packs))]
    whole = int(amount // main.size)
    if whole > _MOST_LEFT:
        for left in range(
            _MOST_LEFT
        ):  # nearly all in the pack that is cheapest by the unit, the rest exactly
            rest = amount - (whole - left) * main.size
            tail = _walk(packs, rest, min((_only(packs, i, rest) for i in range(len(packs))), key=_rank))
            counts = tuple(
                count + (whole - left if pack is main else 0)
                for pack, count in zip(packs, tail.counts, strict=True)
            )
            known.append(_chosen(packs, counts))
    best = min(known, key=_rank)
    cheaper = best.money - _smallest_saving(packs)
    return best if amount * min(rates) > cheaper else _walk(packs, amount, best)


def _walk(packs: Sequence[Pack], amount: Decimal, best: _State) -> _State:
    """The cheapest choice, given one that is known."""
    saving = _smallest_saving(packs)
    states = [_State(Decimal(0), Decimal(0), 0, ())]
    for index, pack in enumerate(packs):
        later = packs[index + 1 :]
        rate_to_come = min(map(_lowest_rate, later), default=None)
        reached: dict[Decimal, _State] = {}  # the best state for each amount covered
        for state in states:
            for grown in _grown(state, pack, amount):
                if grown.covered >= amount:
                    best = min(best, grown._replace(counts=grown.counts + (0,) * len(later)), key=_rank)
                elif rate_to_come is not None:
                    least = grown.money + (amount - grown.covered) * rate_to_come
                    rival = reached.get(grown.covered)
                    if least <= best.money - saving and (rival is None or _rank(grown) < _rank(rival)):
                        reached[grown.covered] = grown
        states = _unbeaten(reached.values())
    return best


def _chosen(packs: Sequence[Pack], counts: tuple[int, ...]) -> _State:
    money = sum(
        (count * pack_price(pack, count) for pack, count in zip(packs, counts, strict=True)), Decimal(0)
    )
    covered = sum((count * pack.size for pack, count in zip(packs, counts, strict=True)), Decimal(0))
    return _State(money, covered, sum(counts), counts)


def _only(packs: Sequence[Pack], index: int, amount: Decimal) -> _State:
    """The cheapest way to cover the amount with one size alone: a first complete choice."""
    start = _State(Decimal(0), Decimal(0), 0, (0,) * index)
    full = [state for state in _grown(start, packs[index], amount) if state.covered >= amount]
    least = min(full, key=_rank)
    return least._replace(counts=least.counts + (0,) * (len(packs) - index - 1))


def _grown(state: _State, pack: Pack, amount: Decimal) -> Iterator[_State]:
    whole, over = divmod(amount - state.covered, pack.size)
    most = int(whole) + (over > 0)
    beyond = sorted({step.from_packs for step in pack.breaks if step.from_packs > most})
    for count in (*range(most + 1), *beyond):
        yield _State(
            state.money + count * pack_price(pack, count),
            state.covered + count * pack.size,
            state.packs + count,
            (*state.counts, count),
        )


def _smallest_saving(packs: Sequence[Pack]) -> Decimal:
    """The least by which two choices of different money can differ: every total is a multiple of it."""
    return _common_measure(
        [price for pack in packs for price in (pack.price, *(s.price for s in pack.breaks))]
    )


def _common_measure(sizes: Sequence[Decimal]) -> Decimal:
    """The largest amount all are whole multiples of; 0 where all are 0."""
    finest = min(exponent for size in sizes if isinstance(exponent := size.as_tuple().exponent, int))
    return Decimal(gcd(*(int(size.scaleb(-finest)) for size in sizes))).scaleb(finest)


def _lowest_rate(pack: Pack) -> Decimal:
    """The lowest price by the unit at any count, rounded down so that a bound stays a bound."""
    lowest = min([pack.price, *(step.price for step in pack.breaks)])
    return Context(prec=50, rounding=ROUND_FLOOR).divide(lowest, pack.size)


def _unbeaten(states: Iterable[_State]) -> list[_State]:
    """States that no other one beats: rising in what they cover, and in money."""
    kept: list[_State] = []
    for state in sorted(states, key=_rank):
        if not kept or state.covered > kept[-1].covered:
            kept.append(state)
    return kept
