"""Pieces side by side: sections, and bounds that hold for every plan, held against searching every plan."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from workers.engine.cutting import PieceToCut, Stock, cut
from workers.engine.cutting.abreast import better_plans, first_plans
from workers.engine.cutting.anneal import annealed_plans
from workers.engine.cutting.few import shortest_sections
from workers.engine.cutting.problem import Source
from workers.engine.cutting.sections import Section
from workers.engine.cutting.sizes import Sizes
from workers.engine.cutting.width_prices import bound_by_prices
from workers.engine.cutting.work import Work

Size = tuple[int, int]
ROOM = 12
small_sizes = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 11)), min_size=1, max_size=5)


def partitions(things: list[Size]) -> list[list[list[Size]]]:
    """All ways to share things out into heaps."""
    if not things:
        return [[]]
    first, ways = things[0], []
    for way in partitions(things[1:]):
        ways.append([[first], *way])
        ways.extend([*way[:at], [first, *way[at]], *way[at + 1 :]] for at in range(len(way)))
    return ways


def shortest_section(sizes: list[Size], room: int) -> int | None:
    """The least length of one section with all these pieces, over every way to share them out into lanes."""
    lengths = [
        max(sum(length for length, _ in lane) for lane in lanes)
        for lanes in partitions(sizes)
        if sum(max(width for _, width in lane) for lane in lanes) <= room
    ]
    return min(lengths, default=None)


def all_plans(sizes: list[Size], room: int) -> list[list[int]]:
    """Lengths of the sections of every plan, each section as short as it can be."""
    plans = []
    for heaps in partitions(sizes):
        lengths = [shortest_section(heap, room) for heap in heaps]
        if None not in lengths:
            plans.append([length for length in lengths if length is not None])
    return plans


def fewest_rolls(sizes: list[Size], roll: int) -> int:
    """The fewest rolls over every plan and every way to share its sections out."""
    return min(
        len(heaps)
        for lengths in {tuple(sorted(plan)) for plan in all_plans(sizes, ROOM) if max(plan) <= roll}
        for heaps in partitions([(length, 0) for length in lengths])
        if all(sum(length for length, _ in heap) <= roll for heap in heaps)
    )


def kinds_of(sizes: list[Size]) -> tuple[list[int], list[int], list[int]]:
    keys = sorted(set(sizes), reverse=True)
    return [length for length, _ in keys], [width for _, width in keys], [sizes.count(key) for key in keys]


def check_sections(sections: list[Section], sizes: list[Size], room: int) -> None:
    lengths, widths, _ = kinds_of(sizes)
    held = sorted((lengths[k], widths[k]) for one in sections for _, lane in one.lanes for k in lane)
    assert held == sorted(sizes)
    for one in sections:
        assert one.width <= room
        assert one.length == max(sum(lengths[k] for k in lane) for _, lane in one.lanes)
        assert all(max(widths[k] for k in lane) == width for width, lane in one.lanes)


@given(small_sizes)
def test_sections_of_few_pieces_are_the_shortest_of_all(sizes: list[Size]) -> None:
    lengths, widths, counts = kinds_of(sizes)
    kinds = [kind for kind, count in enumerate(counts) for _ in range(count)]
    sections = shortest_sections(ROOM, lengths, widths, kinds)
    check_sections(sections, sizes, ROOM)
    assert sum(one.length for one in sections) == min(map(sum, all_plans(sizes, ROOM)))


@given(small_sizes, st.integers(9, 14))
def test_no_proof_is_false_where_pieces_lie_side_by_side(sizes: list[Size], roll: int) -> None:
    pieces = tuple(PieceToCut(f"p{i}", "s", "m", *size, i) for i, size in enumerate(sizes))
    result = cut(pieces, (Stock("m", roll, ROOM, Decimal(3)),), 1)
    fewest = fewest_rolls(sizes, roll)
    assert result.rolls_bound <= fewest <= result.rolls_opened
    assert result.cost_bound <= 3 * fewest
    if result.proven:
        assert result.rolls_opened == fewest


@given(small_sizes, st.integers(9, 14))
def test_the_bound_by_prices_is_never_above_the_fewest_rolls(sizes: list[Size], roll: int) -> None:
    lengths, widths, counts = kinds_of(sizes)
    task = Sizes(tuple(lengths), tuple(widths), tuple(counts), (Source(roll, ROOM, 1, None),))
    fewest = fewest_rolls(sizes, roll)
    assert bound_by_prices(task, 0, Work(10**8)) <= fewest


def test_the_bound_by_prices_sees_more_than_the_area() -> None:
    """Two of width 7 never lie abreast in 12 and leave room for two of the three others; the area fits two rolls."""
    assert 2 * 10 * ROOM >= 2 * 10 * 7 + 3 * 8 * 4
    task = Sizes((10, 8), (7, 4), (2, 3), (Source(10, 12, 1, None),))
    assert bound_by_prices(task, 0, Work(10**8)) == 3


@settings(max_examples=12)
@given(st.lists(st.tuples(st.integers(50, 600), st.integers(1, 14)), min_size=1, max_size=30))
def test_better_sections_hold_the_same_pieces_and_only_get_shorter(sizes: list[Size]) -> None:
    sizes = [(10 * length, 100 * width) for length, width in sizes]
    lengths, widths, counts = kinds_of(sizes)
    plans = list(first_plans(1500, lengths, widths, counts))
    least = min(sum(one.length for one in plan) for plan in plans)
    for more in (
        better_plans(1500, lengths, widths, counts, plans),
        annealed_plans(1500, lengths, widths, plans[0]),
    ):
        last = None
        for plan in more:
            check_sections(plan, sizes, 1500)
            length = sum(one.length for one in plan)
            assert last is None or length < last
            last = length
    assert least * 1500 >= sum(length * width for length, width in sizes)


def test_a_longer_lane_of_other_pieces_saves_what_no_opener_would() -> None:
    """Found among random tasks: the best plan has a section longer than any piece of it, lanes of mixed widths."""
    sizes = [(537, 250), (363, 200), (362, 400), (352, 900), (286, 250), (268, 500),
             (262, 300), (248, 500), (187, 500), (170, 200), (166, 300)]  # fmt: skip
    lengths, widths, counts = kinds_of(sizes)
    sections = shortest_sections(1500, lengths, widths, list(range(len(counts))))
    assert sum(one.length for one in sections) == 964
    pieces = tuple(PieceToCut(f"p{i}", "s", "m", *size, i) for i, size in enumerate(sizes))
    assert cut(pieces, (Stock("m", 963, 1500, Decimal(1)),), 1).rolls_bound == 2
    assert cut(pieces, (Stock("m", 964, 1500, Decimal(1)),), 1).rolls_opened == 1
