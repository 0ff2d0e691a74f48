"""A price taken apart: which surface and which operation bring about how much of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext

from api_schema.breakdown import Breakdown, OperationShare, SurfaceShare
from api_schema.currency import minor_unit
from api_schema.job import Job
from api_schema.labour import Labour
from api_schema.layout import Layout
from api_schema.order_line import OrderLine
from api_schema.outputs import OPERATION_WORDS, OPERATIONS, OperationName, Outputs
from api_schema.price import Price
from api_schema.price_book import PriceBook, ProductKind
from api_schema.take_off import ItemName, TakeOff
from workers.engine.labour.conditions import Place, factors
from workers.engine.labour.work import tasks_of
from workers.engine.pricing.sharing import shared

_PRECISION = Context(prec=60, rounding=ROUND_HALF_EVEN)
_NOTHING = Decimal(0)
_HOURS = Decimal("0.001")
_ITEMS_OF: dict[ProductKind, tuple[ItemName, ...]] = {
    "membrane": ("membrane_laid",),
    "lap_tape": ("lap_tape", "corner_tape", "timber_edge_tape", "frame_tape", "captive_tape", "section_tape"),
    "frame_tape": ("frame_tape",),
    "sealant": ("bead",),
    "primer": ("primer",),
    "staples": ("staples",),
    "batten": ("batten",),
}


def break_down(
    job: Job,
    layout: Layout,
    take_off: TakeOff,
    order_lines: Sequence[OrderLine],
    labour: Labour,
    price: Price,
    outputs: Outputs,
    price_book: PriceBook,
) -> Breakdown:
    """The price by surface and by operation.

    Materials of a surface: each product's cost in proportion to what the take-off counts there. Labour: in
    proportion to the hours worked there, work on the whole job shared out likewise. The rest in proportion to
    materials and labour together. Shares are rounded down to the minor unit and what is left goes, unit by unit, to
    those that lost most (largest remainder), so that every column adds up to its sum in the price.
    """
    with localcontext(_PRECISION):
        step = minor_unit(price.currency)
        surfaces = [surface.id for surface in job.surfaces]
        weights = _hours_by_surface(job, layout, take_off, outputs)
        worked = shared(labour.likely_h, surfaces, weights, _HOURS)
        materials = shared(_sum(price, "materials"), surfaces, _cost_by_surface(take_off, order_lines), step)
        labour_money = _sum(price, "labour")
        labours = shared(labour_money, surfaces, worked, step)
        rest = price.net - _sum(price, "materials") - labour_money
        rests = shared(rest, surfaces, {one: materials[one] + labours[one] for one in surfaces}, step)
        operations = tuple(_operations(labour, price, price_book, step))
        hours = labour.safe_h if price_book.rules.hours_priced == "safe" else labour.likely_h
        bought = sum((_cost(line) for line in order_lines), _NOTHING).quantize(step)
        worth = (hours * price_book.rules.labour_cost_per_h).quantize(step)
        return Breakdown(
            surfaces=tuple(
                SurfaceShare(
                    one, worked[one], materials[one], labours[one], rests[one],
                    materials[one] + labours[one] + rests[one],
                )
                for one in surfaces
            ),
            operations=operations,
            materials_cost=bought,
            labour_cost=worth,
            net=price.net,
            margin=price.net - bought - worth,
            tax=price.tax,
            measured=take_off.measured,
        )  # fmt: skip


def _hours_by_surface(job: Job, layout: Layout, take_off: TakeOff, outputs: Outputs) -> dict[str, Decimal]:
    minutes = {output.operation: output.likely_minutes for output in reversed(outputs.operations)}
    applied: dict[tuple[OperationName, Place], Decimal] = {}
    hours: dict[str, Decimal] = {}
    for task in tasks_of(job, layout, take_off):
        if not task.surface:
            continue
        key = (task.operation, task.place)
        if key not in applied:
            factor = Decimal(1)
            for one in factors(outputs.conditions, task.operation, task.place).values():
                factor *= one
            applied[key] = factor * minutes.get(task.operation, _NOTHING) / 60
        hours[task.surface] = hours.get(task.surface, _NOTHING) + task.quantity * applied[key]
    return hours


def _cost_by_surface(take_off: TakeOff, order_lines: Iterable[OrderLine]) -> dict[str, Decimal]:
    costs: dict[str, tuple[ProductKind, Decimal]] = {}
    for line in order_lines:
        _, so_far = costs.get(line.product, (line.kind, _NOTHING))
        costs[line.product] = (line.kind, so_far + _cost(line))
    has_frame_tape = any(kind == "frame_tape" for kind, _ in costs.values())
    found: dict[str, Decimal] = {}
    for product, (kind, cost) in costs.items():
        parts: dict[str, Decimal] = {}
        for quantity in take_off.quantities:
            wanted = (
                quantity.product == product
                if kind == "collar"
                else quantity.item in _ITEMS_OF[kind]
                and not (kind == "lap_tape" and has_frame_tape and quantity.item == "frame_tape")
            )
            if wanted:
                for part in quantity.from_:
                    parts[part.surface] = parts.get(part.surface, _NOTHING) + part.quantity
        whole = sum(parts.values(), _NOTHING)
        for surface, part_quantity in parts.items():
            found[surface] = found.get(surface, _NOTHING) + cost * part_quantity / whole
    return found


def _cost(line: OrderLine) -> Decimal:
    """At buying price; what comes from stock at the price by the unit of the line's pack."""
    return line.price + line.from_stock * line.pack_price / line.pack_size


def _operations(
    labour: Labour, price: Price, price_book: PriceBook, step: Decimal
) -> Iterable[OperationShare]:
    amounts = {line.name: line.amount for line in price.lines if line.group == "labour"}
    for operation in OPERATIONS:
        lines = [line for line in labour.operations if line.operation == operation]
        if lines:
            hours = sum((line.hours for line in lines), _NOTHING)
            name = OPERATION_WORDS[operation]
            yield OperationShare(
                operation, name, hours,
                sum((line.low_h for line in lines), _NOTHING),
                sum((line.high_h for line in lines), _NOTHING),
                (hours * price_book.rules.labour_cost_per_h).quantize(step),
                amounts.get(name, _NOTHING),
            )  # fmt: skip


def _sum(price: Price, group: str) -> Decimal:
    return sum((line.amount for line in price.lines if line.group == group), _NOTHING)
