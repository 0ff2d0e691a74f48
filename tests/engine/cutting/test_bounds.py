"""A bound is never above the optimum, checked against searching every way of cutting."""

from decimal import Decimal
from functools import cache
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from workers.engine.cutting import PieceToCut, Stock, cut
from workers.engine.cutting.cover import Cover
from workers.engine.cutting.problem import Source


def searched(lengths: tuple[int, ...], offcuts: tuple[int, ...], rolls: dict[int, int]) -> tuple[int, int]:
    """Least (money, rolls) over every way of cutting: all subsets into each offcut, then into rolls to buy."""
    everything = (1 << len(lengths)) - 1
    weight = [
        sum(length for i, length in enumerate(lengths) if mask >> i & 1) for mask in range(everything + 1)
    ]

    def parts(mask: int) -> list[int]:
        part, found = mask, [0]
        while part:
            found.append(part)
            part = (part - 1) & mask
        return found

    @cache
    def least(mask: int, offcut: int) -> tuple[int, int]:
        if offcut < len(offcuts):
            return min(
                least(mask & ~part, offcut + 1) for part in parts(mask) if weight[part] <= offcuts[offcut]
            )
        if not mask:
            return 0, 0
        first = mask & -mask
        best = (10**9, 0)
        for part in parts(mask & ~first):
            for room, price in rolls.items():
                if weight[part | first] <= room:
                    money, opened = least(mask & ~(part | first), offcut)
                    best = min(best, (money + price, opened + 1))
        return best

    return least(everything, 0)


@given(
    st.lists(st.integers(1, 10), min_size=1, max_size=7),
    st.lists(st.integers(1, 12), max_size=2),
    st.integers(1, 30),
    st.integers(1, 60),
)
def test_no_bound_is_above_the_true_optimum_and_no_proof_is_false(
    lengths: list[int], offcuts: list[int], price: int, dear: int
) -> None:
    pieces = tuple(PieceToCut(f"p{i}", "s", "m", length, 1, i) for i, length in enumerate(lengths))
    stock = (
        Stock("m", 10, 1, Decimal(price)),
        Stock("m", 21, 1, Decimal(dear)),
        *(Stock("m", length, 1, Decimal(0), 1, "offcut") for length in offcuts),
    )
    result = cut(pieces, stock, 1)
    money, rolls = searched(tuple(lengths), tuple(offcuts), {10: price, 21: dear})
    assert result.cost_bound <= money <= result.cost
    if result.cost == money:
        assert result.rolls_bound <= rolls <= result.rolls_opened
    if result.proven:
        assert (result.cost, result.rolls_opened) == (money, rolls)


@st.composite
def planted(draw: st.DrawFn) -> tuple[list[tuple[int, int]], int]:
    """Pieces that fill whole rolls of 10 m × 1.5 m without waste."""
    rolls = draw(st.integers(1, 4))
    sizes: list[tuple[int, int]] = []
    for _ in range(rolls):
        left = 10_000
        while left:
            length = min(left, draw(st.integers(5, 60)) * 100)
            left -= length
            at = 0
            for cut_at in [*sorted(draw(st.lists(st.integers(1, 14), max_size=3, unique=True))), 15]:
                sizes.append((length, (cut_at - at) * 100))
                at = cut_at
    return sizes, rolls


@given(planted())
def test_no_bound_is_above_a_planted_plan_of_pieces_side_by_side(
    task: tuple[list[tuple[int, int]], int],
) -> None:
    sizes, rolls = task
    pieces = tuple(PieceToCut(f"p{i}", "s", "m", *size, i) for i, size in enumerate(sizes))
    result = cut(pieces, (Stock("m", 10_000, 1500, Decimal(3)),), 1000)
    assert result.rolls_bound == rolls <= result.rolls_opened
    assert result.cost_bound == 3 * rolls


def test_a_mix_of_prices_is_rounded_up_to_a_cost_that_can_be_reached() -> None:
    sources = (Source(50, 1, 50_000, None), Source(25, 1, 26_000, None))
    assert Cover(sources, (50, 25), 76).bound() == 100_000
    assert Cover(sources, (50, 25), 75).bound() == 76_000
    assert Cover(sources, (50, 25), 51).bound() == 76_000
    assert Cover(sources, (50, 25), 50).bound() == 50_000


def test_the_cheapest_mixes_come_cheapest_first() -> None:
    sources = (Source(50, 1, 50_000, None), Source(25, 1, 26_000, 3), Source(10, 1, 0, 2))
    mixes = Cover(sources, (50, 25, 10), 120).mixes(3)
    assert mixes == [(100_000, (2, 0, 2)), (102_000, (1, 2, 2))]


@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.integers(1, 9), st.one_of(st.none(), st.integers(0, 3))),
        min_size=1,
        max_size=3,
    ),
    st.integers(1, 12),
    st.sampled_from([1, 10**9]),
)
def test_the_cheapest_mix_is_the_cheapest_of_all_mixes(
    sources: list[tuple[int, int, int | None]], target: int, scale: int
) -> None:
    """Weights a thousand million times larger must not change the answer."""
    values = [value * scale for _, value, _ in sources]
    cover = Cover([Source(1, 1, cost, limit) for cost, _, limit in sources], values, target * scale)
    ranges = [range((target if limit is None else limit) + 1) for _, _, limit in sources]
    costs = [
        sum(many * cost for many, (cost, _, _) in zip(mix, sources, strict=True))
        for mix in product(*ranges)
        if sum(many * value for many, (_, value, _) in zip(mix, sources, strict=True)) >= target
    ]
    if costs:
        assert cover.bound() == min(costs)
