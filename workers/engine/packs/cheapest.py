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
   its rest at that rate is a lower bound of every completion; a state whose bound is above the money of a known
   complete choice cannot lead to a cheaper one.

Of choices that cost the same, the one that covers more is taken, then the one of fewer packs, then more of the
larger sizes, so that the same input gives the same packs everywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_FLOOR, Context, Decimal, localcontext
from typing import NamedTuple

from api_schema.price_book import Pack

EXACT = Context(prec=60)


class _State(NamedTuple):
    money: Decimal
    covered: Decimal
    packs: int
    counts: tuple[int, ...]

    @property
    def rank(self) -> tuple[Decimal, Decimal, int, tuple[int, ...]]:
        return (self.money, -self.covered, self.packs, tuple(-count for count in self.counts))


def pack_price(pack: Pack, count: int) -> Decimal:
    """Price of one pack when `count` are bought: that of the highest break reached."""
    reached = [step for step in pack.breaks if step.from_packs <= count]
    return max(reached, key=lambda step: step.from_packs).price if reached else pack.price


def cheapest_packs(packs: Sequence[Pack], amount: Decimal) -> tuple[int, ...]:
    """How many of each pack to buy so that `amount` (in the packs' unit) is covered for the least money.

    The counts stand in the order of `packs`. Nothing is bought for an amount of zero or less.

    Raises:
        ValueError: if there are no packs to cover an amount with.
    """
    if amount <= 0:
        return (0,) * len(packs)
    if not packs:
        raise ValueError("There are no packs to cover the amount with.")
    order = sorted(range(len(packs)), key=lambda index: (-packs[index].size, index))
    with localcontext(EXACT):
        best = _search([packs[index] for index in order], amount)
    return tuple(best.counts[order.index(index)] for index in range(len(packs)))


def _search(packs: Sequence[Pack], amount: Decimal) -> _State:
    best = min((_only(packs, index, amount) for index in range(len(packs))), key=lambda state: state.rank)
    states = [_State(Decimal(0), Decimal(0), 0, ())]
    for index, pack in enumerate(packs):
        rate_to_come = min((_lowest_rate(later) for later in packs[index + 1 :]), default=None)
        taken = [grown for state in states for grown in _grown(state, pack, amount)]
        complete = [state for state in taken if state.covered >= amount]
        blank = (0,) * (len(packs) - index - 1)
        finished = [state._replace(counts=state.counts + blank) for state in complete]
        best = min([best, *finished], key=lambda state: state.rank)
        if rate_to_come is None:
            break
        states = _unbeaten(
            [
                state
                for state in taken
                if state.covered < amount
                and state.money + (amount - state.covered) * rate_to_come <= best.money
            ]
        )
    return best


def _only(packs: Sequence[Pack], index: int, amount: Decimal) -> _State:
    """The cheapest way to cover the amount with one size alone: a first complete choice."""
    start = _State(Decimal(0), Decimal(0), 0, (0,) * index)
    full = [state for state in _grown(start, packs[index], amount) if state.covered >= amount]
    least = min(full, key=lambda state: state.rank)
    return least._replace(counts=least.counts + (0,) * (len(packs) - index - 1))


def _grown(state: _State, pack: Pack, amount: Decimal) -> list[_State]:
    whole, over = divmod(amount - state.covered, pack.size)
    most = int(whole) + (over > 0)
    beyond = sorted({step.from_packs for step in pack.breaks if step.from_packs > most})
    return [
        _State(
            state.money + count * pack_price(pack, count),
            state.covered + count * pack.size,
            state.packs + count,
            (*state.counts, count),
        )
        for count in (*range(most + 1), *beyond)
    ]


def _lowest_rate(pack: Pack) -> Decimal:
    """The lowest price by the unit at any count, rounded down so that a bound stays a bound."""
    lowest = min([pack.price, *(step.price for step in pack.breaks)])
    return Context(prec=50, rounding=ROUND_FLOOR).divide(lowest, pack.size)


def _unbeaten(states: Sequence[_State]) -> list[_State]:
    """States that no other one beats: rising in what they cover, and in money."""
    kept: list[_State] = []
    for state in sorted(states, key=lambda one: one.rank):
        if not kept or state.covered > kept[-1].covered:
            kept.append(state)
    return kept
