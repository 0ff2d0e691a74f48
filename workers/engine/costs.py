"""What a metre of strip, a lap and a piece cost: the money the layout weighs.

Only what changes with the layout is here. Hanging by the square metre, sealing edges and fitting collars cost the
same however the strips lie, so they are left to labour and price.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from api_schema.currency import minor_unit
from api_schema.job import Job
from api_schema.outputs import Condition, OperationName, Outputs
from api_schema.price_book import PriceBook, Product
from api_schema.standard import Standard

_MILLIONTH = Decimal("0.000001")
_MINUTES_PER_HOUR = Decimal(60)
_MM_PER_M = Decimal(1000)


@dataclass(frozen=True, slots=True)
class Membrane:
    """A roll the strips may be cut from.

    `roll_length_mm` is the longest roll it is sold in, `price_per_m` the buying price of a metre of roll at full
    width in the cheapest of its packs, before price breaks.
    """

    product: str
    width_mm: int
    roll_length_mm: int
    price_per_m: Decimal


@dataclass(frozen=True, slots=True)
class LayoutCosts:
    """Rates of a layout, in money of the price book, at buying price and labour cost without mark-ups.

    `lap_cost_per_m` and `end_lap_cost_per_m` are tape and taping by metre of joint, `piece_cost` is the labour
    to hang one more piece. `minor_unit` is the smallest amount costs are stated in.
    """

    membranes: tuple[Membrane, ...]
    lap_cost_per_m: Decimal
    piece_cost: Decimal
    end_lap_cost_per_m: Decimal
    minor_unit: Decimal = Decimal("0.01")


def costs_of(
    price_book: PriceBook, outputs: Outputs, standard: Standard, job: Job | None = None
) -> LayoutCosts:
    """The rates that follow from a price book and the labour outputs.

    Tape: the lap tape that costs least by the metre, its waste added. Labour: likely minutes at the firm's cost of
    an hour; where `job` is given, conditions that hold for the whole job (stapler, insulation) are applied.
    Position and height change from surface to surface and are left to the labour, not to the layout.
    A price book without a usable membrane gives no membranes; `lay_out` refuses it.
    """
    membranes = tuple(
        Membrane(p.code, p.width_mm, longest, price)
        for p in price_book.products
        if p.kind == "membrane" and p.width_mm and (longest := _longest_roll_mm(p)) > 0
        for price in (_price_per_unit(p),)
    )
    tapes = sorted((_price_per_unit(p), p.code) for p in price_book.products if p.kind == "lap_tape")
    tape_per_m = tapes[0][0] * (1 + standard.tape_waste) if tapes else Decimal(0)
    hour = price_book.rules.labour_cost_per_h
    taping = _minutes(outputs, "tape_lap", job) / _MINUTES_PER_HOUR * hour
    hanging = _minutes(outputs, "hang_piece", job) / _MINUTES_PER_HOUR * hour
    joint = (tape_per_m + taping).quantize(_MILLIONTH, ROUND_HALF_EVEN)
    return LayoutCosts(
        membranes,
        lap_cost_per_m=joint,
        piece_cost=hanging.quantize(_MILLIONTH, ROUND_HALF_EVEN),
        end_lap_cost_per_m=joint,
        minor_unit=minor_unit(price_book.currency),
    )


def _longest_roll_mm(product: Product) -> int:
    """Length of the longest roll in whole mm, rounded down: a roll is never taken for longer than it is."""
    return max(int(pack.size * _MM_PER_M) for pack in product.packs)


def _price_per_unit(product: Product) -> Decimal:
    return min(pack.price / pack.size for pack in product.packs).quantize(_MILLIONTH, ROUND_HALF_EVEN)


def _minutes(outputs: Outputs, operation: OperationName, job: Job | None) -> Decimal:
    minutes = sum((o.likely_minutes for o in outputs.operations if o.operation == operation), Decimal(0))
    for condition in outputs.conditions:
        if job is not None and _holds(condition, operation, job):
            minutes *= condition.factor
    return minutes


def _holds(condition: Condition, operation: OperationName, job: Job) -> bool:
    if condition.operations and operation not in condition.operations:
        return False
    of_job = {"stapler": job.stapler, "insulation": job.insulation}
    return of_job.get(condition.when) == condition.equals
