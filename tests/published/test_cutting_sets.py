"""Published bin-packing and cutting-stock sets with proven optima (P), and own sets with planted optima.

Data in data/cutting/, each file with its licence and source: Falkenauer's uniform and triplet classes (1996) from
the ESICUP data sets (CC0), textbook examples, and own sets of roll goods: lengths of 1.5 m × 50 m rolls, planted
without waste (optimum by construction) or at random.
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from workers.engine.cutting import PieceToCut, Stock, cut

DATA = Path(__file__).parent / "data" / "cutting"


def instances(name: str) -> list[Any]:
    whole = json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))
    assert whole["meta"]["licence"]
    return [pytest.param(one, id=one["name"]) for one in whole["instances"]]


def task(one: dict[str, Any]) -> tuple[tuple[PieceToCut, ...], tuple[Stock, ...]]:
    room = one["capacity"]
    length, width = room if isinstance(room, list) else (room, 1500)
    sizes = [
        tuple(item["size"]) if isinstance(item["size"], list) else (item["size"], 1500)
        for item in one["items"]
        for _ in range(item["demand"])
    ]
    pieces = tuple(PieceToCut(f"p{i}", "s", "m", *size, i) for i, size in enumerate(sizes))
    return pieces, (Stock("m", length, width, Decimal(1)),)


@pytest.mark.parametrize(
    "one",
    [
        *instances("textbook_examples"),
        *instances("falkenauer_u"),
        *instances("falkenauer_t"),
        *instances("trade_like"),
        *instances("trade_tight"),
        *instances("roll2d_trade"),
    ],
)
def test_the_known_optimum_is_reached_and_proven(one: dict[str, Any]) -> None:
    result = cut(*task(one))
    assert result.rolls_bound <= one["optimum"] <= result.rolls_opened
    assert (result.rolls_opened, result.proven) == (one["optimum"], True)


@pytest.mark.parametrize("one", instances("roll2d_random"))
def test_random_pieces_side_by_side_reach_the_area_bound(one: dict[str, Any]) -> None:
    pieces, stock = task(one)
    area = sum(piece.length_mm * piece.width_mm for piece in pieces)
    roll = stock[0].length_mm * stock[0].width_mm
    assert -(-area // roll) == one["area_lb"]
    assert cut(pieces, stock).rolls_opened == one["area_lb"]
