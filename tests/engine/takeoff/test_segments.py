"""Exact arithmetic on edges."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from workers.engine.takeoff.segments import Rings, bare_stretches, length_mm, total

coordinates = st.integers(-5000, 5000)
corners = st.tuples(coordinates, coordinates)


def test_stretches_taken_twice_are_taken_once():
    edge = ((0, 0), (1000, 0))
    assert bare_stretches(edge, [((100, 0), (400, 0)), ((600, 0), (300, 0))]) == (
        (0, Fraction(1, 10)),
        (Fraction(3, 5), 1),
    )


def test_an_edge_that_only_crosses_or_touches_takes_nothing():
    edge = ((0, 0), (1000, 0))
    others = [((500, -100), (500, 100)), ((0, 0), (0, 500)), ((1000, 0), (2000, 0)), ((0, 1), (1000, 1))]
    assert bare_stretches(edge, others) == ((0, 1),)


def test_an_edge_wholly_taken_leaves_nothing():
    assert bare_stretches(((0, 0), (300, 400)), [((-3, -4), (600, 800))]) == ()


def test_the_length_of_a_slope_is_exact_where_it_is_whole():
    assert length_mm(((0, 0), (300, 400))) == Decimal(500)


@given(
    start=corners,
    step=corners.filter(lambda step: step != (0, 0)),
    parts=st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20)), max_size=5),
)
def test_what_is_taken_and_what_is_left_make_up_the_edge(start, step, parts):
    def at(index):
        return (start[0] + index * step[0], start[1] + index * step[1])

    edge = (at(0), at(10))
    others = [(at(low), at(high)) for low, high in parts if low != high]
    taken = {
        index for low, high in parts for index in range(min(low, high), max(low, high)) if 0 <= index < 10
    }
    assert total(bare_stretches(edge, others)) == Fraction(10 - len(taken), 10)


@given(start=corners, step=corners.filter(lambda step: step != (0, 0)))
def test_edges_of_one_line_find_each_other_whichever_way_they_run(start, step):
    def at(index):
        return (start[0] + index * step[0], start[1] + index * step[1])

    away = (start[0] - step[1], start[1] + step[0])  # square to the line
    outline = [at(0), at(4), away]
    rings = Rings([outline, [at(3), at(1), (away[0] + 1, away[1])]])
    assert rings.bare(0, rings.rings[0][0]) == ((0, Fraction(1, 4)), (Fraction(3, 4), 1))
    assert rings.bare(1, rings.rings[1][0]) == ()
