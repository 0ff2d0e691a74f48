"""The money of layout and rolls together: what the whole job's membrane, laps and pieces cost, and could cost."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, many, money, truth


@dataclass(frozen=True, slots=True)
class Swap:
    """A surface laid otherwise than it would be by itself, because the rolls gain more."""

    surface: Annotated[str, identifier("The surface.", example="gable-west")]
    dearer_by: Annotated[
        Decimal,
        money("What this layout costs more in laps and pieces.", example="1.80", minimum="-1000000000"),
    ]
    rolls_save: Annotated[Decimal, money("What the rolls of the job cost less.", example="66.00")]


@dataclass(frozen=True, slots=True)
class Economy:
    """Rolls to buy, laps and pieces of the whole job, at buying price and labour cost without mark-ups."""

    rolls: Annotated[Decimal, money("Rolls to buy.", example="612.00")]
    laps_and_pieces: Annotated[
        Decimal, money("Laps, end laps, hanging of pieces and penalties.", example="274.60")
    ]
    cost: Annotated[Decimal, money("Both together.", example="886.60")]
    bound: Annotated[
        Decimal, money("No layout and cutting of these surfaces together can cost less.", example="540.20")
    ]
    proven: Annotated[bool, truth("Is it certain that nothing is cheaper?", example=False)]
    swaps: Annotated[tuple[Swap, ...], many(Swap, "Surfaces laid for the sake of the rolls.")] = ()
