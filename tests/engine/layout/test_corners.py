"""Internal corners: one side returns, the cheaper one."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.job import EdgeReference, Job, Junction
from api_schema.layout import Layout
from api_schema.standard import Standard
from api_schema.surface import Surface
from tests.engine.layout.shapes import COSTS, rectangle, surface
from workers.engine.layout import lay_out
from workers.engine.layout.edges import choose_returns, roles_of


def joined(*pairs: tuple[str, int, str, int]) -> tuple[Junction, ...]:
    return tuple(Junction(EdgeReference(a, i), EdgeReference(b, k)) for a, i, b, k in pairs)


def roles(layout: Layout) -> dict[tuple[str, int], str]:
    return {(one.id, edge.edge): edge.role for one in layout.surfaces for edge in one.edges}


def test_a_tie_returns_the_surface_named_first() -> None:
    walls = (surface(rectangle(4000, 2400), name="b"), surface(rectangle(4000, 2400), name="a"))
    found = roles(lay_out(Job("x", walls, joined(("a", 3, "b", 1))), Standard(), COSTS))
    assert found["b", 1] == "returns"
    assert found["a", 3] == "stops"


def test_the_side_that_costs_less_returns() -> None:
    # by hand: 3940 + 70 needs 4100, + 20 needs 4000; 3900 + 70 and 3900 + 20 both need 4000
    walls = (surface(rectangle(3940, 2400), name="first"), surface(rectangle(3900, 2400), name="second"))
    layout = lay_out(Job("x", walls, joined(("first", 1, "second", 3))), Standard(), COSTS)
    assert roles(layout)["first", 1] == "stops"
    assert roles(layout)["second", 3] == "returns"
    allowances = {(one.id, edge.edge): edge.allowance_mm for one in layout.surfaces for edge in one.edges}
    assert allowances["first", 1] == 20
    assert allowances["second", 3] == 70


@given(
    st.lists(st.tuples(st.integers(500, 6000), st.integers(500, 3000)), min_size=2, max_size=6),
    st.randoms(use_true_random=False),
)
@settings(max_examples=25)
def test_exactly_one_side_of_every_corner_returns(sizes: list[tuple[int, int]], dice) -> None:  # type: ignore[no-untyped-def]
    walls = tuple(surface(rectangle(w, h), name=f"w{i}") for i, (w, h) in enumerate(sizes))
    pairs = [(f"w{i}", 1, f"w{(i + 1) % len(walls)}", 3) for i in range(len(walls))]
    dice.shuffle(pairs)
    job = Job("x", walls, joined(*pairs))
    layout = lay_out(job, Standard(), COSTS)
    found = roles(layout)
    for a, i, b, k in pairs:
        assert sorted((found[a, i], found[b, k])) == ["returns", "stops"]
    assert layout.cost == sum(one.cost for one in layout.surfaces)
    assert layout.bound <= layout.cost


def test_no_single_corner_turned_round_makes_the_job_cheaper() -> None:
    walls = tuple(surface(rectangle(2930 + 40 * i, 2400 + 130 * i), name=f"w{i}") for i in range(5))
    job = Job("x", walls, joined(*((f"w{i}", 1, f"w{(i + 1) % 5}", 3) for i in range(5))))
    layout = lay_out(job, Standard(), COSTS)
    assert cost_with(job, roles(layout)) == layout.cost
    for junction in job.junctions:
        turned = roles(layout)
        a, b = (junction.a.surface, junction.a.edge), (junction.b.surface, junction.b.edge)
        turned[a], turned[b] = turned[b], turned[a]
        assert cost_with(job, turned) >= layout.cost


def cost_with(job: Job, found: dict[tuple[str, int], str]):  # type: ignore[no-untyped-def]
    """Cost of the job with given sides returning: edges replaced by finishes of the same allowance."""
    standard = Standard(edge_timber_mm=70, edge_frame_mm=20)
    words = {"returns": "timber", "stops": "frame", "open": "open"}
    walls = tuple(
        surface(
            one.outline_mm,
            name=one.id,
            finishes={edge: words[found[one.id, edge]] for edge in range(len(one.outline_mm))},
        )
        for one in job.surfaces
    )
    return lay_out(Job("x", walls), standard, COSTS).cost


def test_the_choice_only_ever_lowers_the_cost() -> None:
    """Against a made-up price that punishes every returning edge of one surface."""
    walls = tuple(surface(rectangle(3000, 2400), name=name) for name in "abc")
    job = Job("x", walls, joined(("a", 1, "b", 3), ("b", 1, "c", 3), ("a", 3, "c", 1)))
    standard = Standard()
    chosen = roles_of(job)
    weights = {"a": 5, "b": 1, "c": 3}
    choose_returns(job, chosen, standard, lambda name, allowances: weights[name] * sum(allowances))
    best = min(
        sum(
            weights[x if side else y] * 50
            for side, (x, y) in zip(sides, [("a", "b"), ("b", "c"), ("a", "c")], strict=True)
        )
        for sides in product((False, True), repeat=3)
    )
    assert sum(weights[name] * 50 * one.count("returns") for name, one in chosen.items()) == best


def test_a_surface_may_meet_itself() -> None:
    round_room = surface(rectangle(9000, 2400), name="round")
    found = roles(lay_out(Job("x", (round_room,), joined(("round", 1, "round", 3))), Standard(), COSTS))
    assert sorted((found["round", 1], found["round", 3])) == ["returns", "stops"]


def test_alike_surfaces_get_alike_layouts_with_their_own_names() -> None:
    walls: tuple[Surface, ...] = tuple(
        surface(rectangle(4000, 2400), name=name) for name in ("north", "south")
    )
    one, two = lay_out(Job("x", walls), Standard(), COSTS).surfaces
    assert one.cost == two.cost
    assert [strip.id for strip in two.strips] == ["south/1", "south/2"]
