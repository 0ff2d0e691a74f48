"""P: VOB/C (DIN 18299 ff., DIN 18340): openings over 2.5 m² deducted, in floors over 0.5 m²; bar-like interruptions
wider than 30 cm deducted; in lengths gaps over 1 m deducted; reveals measured extra.
"""

import dataclasses
from decimal import Decimal

import pytest

from api_schema.job import Job
from api_schema.standard import Standard
from api_schema.surface import EdgeFinish, Members, Opening, Surface
from tests.published.measuring import by_item, measured_of, rectangle

RULE = Standard(measurement_rule="deduct_over_2_50_m2")
WALL = rectangle(0, 0, 6000, 2500)  # 15 m²


def wall(*openings: Opening, kind: str = "wall", outline: object = WALL, edges: bool = False) -> Surface:
    finishes = tuple(EdgeFinish(edge, "slab") for edge in range(4)) if edges else ()
    return Surface("s", kind, outline, Members("up", 400), edges=finishes, openings=openings)  # type: ignore[arg-type]


def area(surface: Surface) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    one = by_item(measured_of(RULE, surface))["reveal" if surface.kind == "reveal" else "area"]
    return one.gross, one.net, one.deducted, one.as_measured


@pytest.mark.parametrize(("width", "deducted"), [(2000, "0"), (2001, "2.50125")])
def test_openings_over_two_and_a_half_square_metres_are_deducted(width: int, deducted: str) -> None:
    """2.000 × 1.250 = 2.5 m² is over-measured; 2.001 × 1.250 = 2.501 25 m² is deducted."""
    gross, net, lost, paid = area(wall(Opening("w", "window", rectangle(1000, 900, 1000 + width, 2150))))
    exact = Decimal(deducted).quantize(Decimal("0.0001"))
    assert (gross, lost, paid) == (15, exact, (15 - Decimal(deducted)).quantize(Decimal("0.0001")))
    assert net == (15 - Decimal(width) * 1250 / 1_000_000).quantize(Decimal("0.0001"))


@pytest.mark.parametrize(("depth", "deducted"), [(500, "0"), (501, "0.501")])
def test_in_floors_openings_over_half_a_square_metre_are(depth: int, deducted: str) -> None:
    """1.000 × 0.500 = 0.5 m² is over-measured; 1.000 × 0.501 m² is deducted."""
    hatch = Opening("h", "hatch", rectangle(1000, 1000, 2000, 1000 + depth))
    assert area(wall(hatch, kind="floor"))[2] == Decimal(deducted)


@pytest.mark.parametrize(("width", "deducted"), [(300, "0"), (301, "0.7525")])
def test_a_post_wider_than_thirty_centimetres_is_deducted(width: int, deducted: str) -> None:
    """Floor to ceiling, 300 mm: over-measured; 0.301 × 2.500 = 0.752 5 m² is deducted, though under 2.5 m²."""
    post = Opening("post", "obstruction", rectangle(2000, 0, 2000 + width, 2500), "timber")
    assert area(wall(post))[2] == Decimal(deducted)


def test_how_wide_a_slanting_beam_is_counts_square_to_it() -> None:
    """A brace 3-4-5: along (2000, 1500), that is 2 500 mm; 250 mm wide in one case, 350 mm in the other."""

    def brace(breadth_fifths: int) -> Surface:
        across = (-3 * breadth_fifths, 4 * breadth_fifths)
        corners = (
            (1500, 300),
            (3500, 1800),
            (3500 + across[0], 1800 + across[1]),
            (1500 + across[0], 300 + across[1]),
        )
        return wall(Opening("brace", "obstruction", corners, "timber"))

    assert area(brace(50))[2] == 0
    assert area(brace(70))[2] == Decimal("0.875")  # 2.500 × 0.350


@pytest.mark.parametrize(("width", "deducted"), [(1000, "0"), (1001, "1.001")])
def test_gaps_in_lengths_are_deducted_over_one_metre(width: int, deducted: str) -> None:
    """Slab edges all round: 2 × (6.0 + 2.5) = 17 m; a door leaves a gap of its width in one of them."""
    door = Opening("d", "door", rectangle(2000, 0, 2000 + width, 2010))
    one = by_item(measured_of(RULE, wall(door, edges=True)))["slab_edge"]
    assert (one.gross, one.net) == (17, 17 - Decimal(width) / 1000)
    assert (one.deducted, one.as_measured) == (Decimal(deducted), 17 - Decimal(deducted))


def test_two_gaps_are_each_looked_at_alone() -> None:
    """0.9 m and 0.8 m are together over 1 m, but each is under it: nothing is deducted."""
    doors = (
        Opening("a", "door", rectangle(500, 0, 1400, 2010)),
        Opening("b", "door", rectangle(3000, 0, 3800, 2010)),
    )
    one = by_item(measured_of(RULE, wall(*doors, edges=True)))["slab_edge"]
    assert (one.gross, one.net, one.deducted) == (17, Decimal("15.3"), 0)


def test_laps_run_over_gaps_up_to_one_metre() -> None:
    """A strip's lap is interrupted by windows 0.9 m and 1.2 m wide: 6.0 m gross, 3.9 m laid, 4.8 m measured."""
    windows = (
        Opening("a", "window", rectangle(800, 800, 1700, 2100)),
        Opening("b", "window", rectangle(3000, 800, 4200, 2100)),
    )
    one = by_item(measured_of(RULE, wall(*windows)))["lap"]
    laps = one.gross / 6
    assert laps == int(laps) > 0
    assert one.net == laps * Decimal("3.9")
    assert one.as_measured == laps * Decimal("4.8")


def test_reveals_are_measured_extra() -> None:
    """A reveal 1.2 × 0.3 m beside a wall of 15 m²: 0.36 m² under an item of its own."""
    reveal = dataclasses.replace(wall(kind="reveal", outline=rectangle(0, 0, 1200, 300)), id="r")
    found = by_item(measured_of(RULE, wall(), reveal))
    assert (found["area"].as_measured, found["reveal"].as_measured) == (15, Decimal("0.36"))
    assert [part.surface for part in found["reveal"].from_] == ["r"]


def test_the_take_off_has_the_same_areas_by_surface_and_in_all() -> None:
    post = Opening("post", "obstruction", rectangle(2000, 0, 2400, 2500), "masonry")
    take_off = measured_of(RULE, wall(post)).take_off
    (one,) = take_off.surfaces
    assert (one.gross_m2, one.net_m2, one.deducted_m2, one.as_measured_m2) == (15, 14, 1, 14)
    assert one.as_laid_m2 >= one.net_m2
    totals = take_off.totals
    assert (totals.gross_m2, totals.net_m2, totals.deducted_m2, totals.as_measured_m2) == (15, 14, 1, 14)
    assert totals.as_bought_m2 >= totals.as_laid_m2
    (masonry,) = [one for one in take_off.quantities if one.item == "masonry_edge"]
    assert masonry.quantity == 5  # both sides of the post; its ends lie on the outline


def test_a_job_is_measured_by_this_rule_only_where_the_standard_says_so() -> None:
    window = Opening("w", "window", rectangle(1000, 900, 2000, 1900))
    assert by_item(measured_of(Standard(), wall(window)))["area"].as_measured == 14
    assert isinstance(measured_of(Standard(), wall(window)).job, Job)
