"""What a captive pipe costs beside the collar that was not slipped on."""

import dataclasses
from decimal import Decimal

from api_schema.captive import CaptiveCost
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.shape import dump, load
from api_schema.surface import Penetration
from tests.engine.takeoff.samples import covering, cut_list_of, job_of, layout_of, wall
from workers.engine.captives import captive_costs
from workers.engine.takeoff import measure

BOOK = default_price_book()


def compared(*penetrations, kind="wall"):
    surface = dataclasses.replace(wall(penetrations=penetrations), kind=kind, working_height_mm=2400)
    job, layout = job_of(surface), layout_of(covering(surface))
    take_off = measure(job, layout, cut_list_of(layout), default_standard(), BOOK)
    return captive_costs(job, take_off, default_outputs(), BOOK)


def test_a_captive_pipe_costs_more_than_its_collar_would_have():
    """C: 1.05 m of tape at 165/300 + 15 %, 16 min at 35/h; collar 14.00/2 + 15 %, 10 s at 35/h."""
    (found,) = compared(Penetration("p1", "pipe", (5200, 300), 110))
    assert found.collar == "collar-100-114"
    assert found.taped_cost == Decimal("10.00")  # 0.664 + 9.333
    assert found.collar_cost == Decimal("8.15")  # 8.05 + 0.097
    assert found.saved == Decimal("1.85")
    assert load(CaptiveCost, dump(found)) == found


def test_alike_ones_are_counted_and_overhead_work_takes_longer():
    (found,) = compared(Penetration("p1", "pipe", (5200, 300), 110, count=3), kind="ceiling")
    assert found.taped_minutes == Decimal("20.80")
    assert found.taped_cost == Decimal("38.39")  # 3 × (0.664 + 12.133)
    assert found.saved == found.taped_cost - found.collar_cost


def test_only_pipes_a_collar_would_have_fitted_are_compared():
    assert (
        compared(
            Penetration("free", "pipe", (500, 300), 110, free_end=True),
            Penetration("large", "duct", (1500, 300), 600),
            Penetration("flue", "flue", (2500, 300), 150),
            Penetration("beam", "timber", (3500, 300), None, 70, 220),
        )
        == ()
    )
