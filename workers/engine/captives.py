"""What each pipe without a free end costs, beside its collar slipped on in time, so that other trades see it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext

from api_schema.captive import CaptiveCost
from api_schema.currency import minor_unit
from api_schema.job import Job
from api_schema.outputs import Outputs
from api_schema.price_book import PriceBook, Product
from api_schema.take_off import TakeOff
from workers.engine.labour.conditions import POSITION_OF, Place, factors, working_height_mm
from workers.engine.takeoff.penetrations import smallest_collar

SLIPPED_ON_MINUTES = Decimal(1) / 6  # about 10 s, common practice
_PRECISION = Context(prec=40, rounding=ROUND_HALF_EVEN)
_MINUTES = Decimal("0.01")


def captive_costs(
    job: Job, take_off: TakeOff, outputs: Outputs, price_book: PriceBook
) -> tuple[CaptiveCost, ...]:
    """Every captive round penetration that a collar of the price book would have fitted, in the job's order.

    Taping: its tape at the cheapest lap tape by the metre and the likely minutes of `tape_captive` under the
    conditions of its surface. Collar: its price by the piece and 10 s to slip it on as the pipe goes in. Both at
    the price book's rates with mark-ups, before overhead; waste, whole packs and the set-up of the day are left
    out on both sides.
    """
    surfaces = {surface.id: surface for surface in job.surfaces}
    minutes = {output.operation: output.likely_minutes for output in reversed(outputs.operations)}
    rules = price_book.rules
    found = []
    with localcontext(_PRECISION):
        step = minor_unit(price_book.currency)
        a_minute = rules.labour_cost_per_h * (1 + rules.labour_markup) / 60
        a_metre = _cheapest(p for p in price_book.products if p.kind == "lap_tape") * (
            1 + rules.material_markup
        )
        for sealing in take_off.penetrations:
            surface = surfaces[sealing.surface]
            pipe = next(one for one in surface.penetrations if one.id == sealing.penetration)
            if sealing.method != "taped" or pipe.free_end or pipe.diameter_mm is None:
                continue
            collar = smallest_collar(price_book.products, pipe.diameter_mm)
            if collar is None or "tape_captive" not in minutes:
                continue
            place = Place(
                POSITION_OF[surface.kind], job.stapler, job.insulation, working_height_mm(surface, job)
            )
            taping = minutes["tape_captive"]
            for factor in factors(outputs.conditions, "tape_captive", place).values():
                taping *= factor
            taped = (sealing.tape_m * a_metre + sealing.count * taping * a_minute).quantize(step)
            each = _cheapest([collar]) * (1 + rules.material_markup) + SLIPPED_ON_MINUTES * a_minute
            slipped = (sealing.count * each).quantize(step)
            found.append(
                CaptiveCost(
                    surface.id, pipe.id, pipe.diameter_mm, sealing.count, collar.code, collar.name,
                    taping.quantize(_MINUTES), SLIPPED_ON_MINUTES.quantize(_MINUTES), taped, slipped,
                    taped - slipped,
                )
            )  # fmt: skip
    return tuple(found)


def _cheapest(products: Iterable[Product]) -> Decimal:
    return min((pack.price / pack.size for product in products for pack in product.packs), default=Decimal(0))
