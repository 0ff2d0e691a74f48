"""Strips to cover a width W with rolls of width w and lap l: ceil((W − l)/(w − l)).

Source: plain arithmetic anyone can redo (C): n strips laid with a lap l cover n·w − (n − 1)·l, and the smallest n for
which that is at least W is ceil((W − l)/(w − l)).
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.job import Job
from api_schema.standard import Standard
from api_schema.surface import Members, Surface
from workers.engine.costs import LayoutCosts, Membrane
from workers.engine.layout import lay_out


def strips_over(width: int, roll: int, lap: int) -> int:
    """How many strips the layout takes over a bare rectangle of that height, across upright members."""
    costs = LayoutCosts(
        (Membrane("membrane", roll, 50_000, Decimal("2.40")),),
        Decimal("1.60"),
        Decimal("1.20"),
        Decimal("1.60"),
    )
    wall = Surface(
        "wall",
        "wall",
        ((0, 0), (6000, 0), (6000, width), (0, width)),
        Members("up", 400),
        run="across_members",
    )
    return len(lay_out(Job("count", (wall,)), Standard(lap_mm=lap), costs).surfaces[0].strips)


@pytest.mark.parametrize(
    ("width", "roll", "lap", "count"),
    [
        (1500, 1500, 100, 1),  # exactly one roll
        (1501, 1500, 100, 2),
        (2450, 1500, 100, 2),  # a room's wall: (2450 − 100)/1400 = 1.68
        (2900, 1500, 100, 2),  # exactly two: 2·1500 − 100
        (2901, 1500, 100, 3),
        (4270, 1500, 100, 3),  # 2.98
        (10_000, 1500, 150, 8),  # 9850/1350 = 7.30
        (40_000, 3000, 100, 14),  # 39 900/2900 = 13.76
    ],
)
def test_strips_worked_by_hand(width: int, roll: int, lap: int, count: int) -> None:
    assert strips_over(width, roll, lap) == count


@given(st.integers(1, 12_000), st.integers(400, 3200), st.integers(10, 300))
def test_strips_of_any_rectangle_follow_the_formula(width: int, roll: int, lap: int) -> None:
    assert strips_over(width, roll, lap) == max(1, -(-(width - lap) // (roll - lap)))
