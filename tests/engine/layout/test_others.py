"""Other good layouts, for the cutting to choose from."""

from __future__ import annotations

from hypothesis import given, settings

from api_schema.standard import Standard
from tests.engine.layout.judge import missing_mm2
from tests.engine.layout.shapes import COSTS, laid, rectangle, surface
from tests.engine.layout.test_cover import odd_surface, seeds
from workers.engine.layout import alternatives


@given(seeds)
@settings(max_examples=20)
def test_they_start_with_the_cheapest_rise_in_cost_and_cover_the_surface(seed: int) -> None:
    one = odd_surface(seed)
    chosen = laid(one)
    found = alternatives(one, chosen, Standard(), COSTS, most=5)
    assert found[0].strips == chosen.strips
    assert found[0].cost == chosen.cost
    assert [other.cost for other in found] == sorted(other.cost for other in found)
    for other in found:
        assert other.bound == chosen.bound
        assert other.edges == chosen.edges
        assert missing_mm2(one, other) < 1.0


def test_no_two_of_one_direction_are_cut_into_the_same_pieces() -> None:
    gable = surface(((0, 0), (7000, 0), (7000, 1000), (3500, 4000), (0, 1000)))
    found = alternatives(gable, laid(gable), Standard(), COSTS, most=20)
    cuts = [
        (other.run, sorted((s.product, p.cut_length_mm) for s in other.strips for p in s.pieces))
        for other in found
    ]
    assert len(found) > 3
    assert all(one != two for i, one in enumerate(cuts) for two in cuts[:i])


def test_both_directions_are_offered() -> None:
    wall = surface(rectangle(6200, 2450))
    assert {other.run for other in alternatives(wall, laid(wall), Standard(), COSTS)} == {
        "across_members", "along_members",
    }  # fmt: skip
