"""The plan: everything computed for one job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.breakdown import Breakdown
from api_schema.cut_list import CutList
from api_schema.economy import Economy
from api_schema.fields import choice, identifier, many, one, text
from api_schema.labour import Labour
from api_schema.layout import Layout
from api_schema.order_line import OrderLine
from api_schema.price import Price
from api_schema.said import Said
from api_schema.take_off import TakeOff


@dataclass(frozen=True, slots=True)
class Check:
    """Something the fitter should look at."""

    level: Annotated[Literal["warning", "note"], choice("How much it matters.", ("warning", "note"))]
    code: Annotated[str, identifier("A stable word for programs.", example="captive_pipe")]
    message: Annotated[
        str,
        text(
            "In words.",
            example="p1 on living-north has no free end: it is taped, which costs more than a collar.",
            longest=600,
        ),
    ]
    pointer: Annotated[
        str, text("Where in the job, a JSON Pointer.", example="/surfaces/0/penetrations/0", longest=400)
    ] = ""
    said: Annotated[Said | None, one(Said, "The words taken apart, for another language.")] = None


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything computed for one job."""

    layout: Annotated[Layout, one(Layout, "Where the strips lie.")]
    cut_list: Annotated[CutList, one(CutList, "What is cut from which roll.")]
    take_off: Annotated[TakeOff, one(TakeOff, "What was measured.")]
    labour: Annotated[Labour, one(Labour, "How many hours.")]
    order_lines: Annotated[tuple[OrderLine, ...], many(OrderLine, "What to buy.")]
    price: Annotated[Price, one(Price, "What it costs.")]
    checks: Annotated[tuple[Check, ...], many(Check, "What to look at.")] = ()
    economy: Annotated[
        Economy | None, one(Economy, "What layout and rolls cost together, and could cost.")
    ] = None
    breakdown: Annotated[
        Breakdown | None, one(Breakdown, "The price by surface and operation, for the firm's eyes.")
    ] = None
