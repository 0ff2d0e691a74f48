"""What a pipe without a free end costs, beside what it would have cost with its collar slipped on in time."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, length_mm, money, number, text, whole


@dataclass(frozen=True, slots=True)
class CaptiveCost:
    """One captive penetration, taped, beside the collar that was not slipped on. Money is for all alike."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    penetration: Annotated[str, identifier("The penetration.", example="p1")]
    diameter_mm: Annotated[int, length_mm("Outside diameter.", example=110)]
    count: Annotated[int, whole("How many alike.", example=1)]
    collar: Annotated[str, identifier("The collar that would have fitted.", example="collar-100-114")]
    collar_name: Annotated[str, text("What it is.", example="Collar for 100 to 114 mm", longest=120)]
    taped_minutes: Annotated[Decimal, number("Likely minutes to tape each.", example="16", unit="min")]
    collar_minutes: Annotated[
        Decimal, number("Minutes to slip each collar on as the pipe goes in.", example="0.17", unit="min")
    ]
    taped_cost: Annotated[Decimal, money("Tape and labour, with mark-ups.", example="10.20")]
    collar_cost: Annotated[Decimal, money("Collar and labour, with mark-ups.", example="8.15")]
    saved: Annotated[
        Decimal,
        money(
            "What the collar would have saved; negative where taping is cheaper.",
            example="2.05",
            minimum="-1000000000",
        ),
    ]
