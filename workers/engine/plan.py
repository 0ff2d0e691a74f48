"""The one function that walks the whole way: from a job to its plan."""

from __future__ import annotations

from collections.abc import Iterator

from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.order_line import OrderLine
from api_schema.outputs import Outputs
from api_schema.plan import Check, Plan
from api_schema.price_book import PriceBook, ProductKind
from api_schema.problem import Fault, SurveyFaults
from api_schema.standard import Standard
from api_schema.take_off import TakeOff
from workers.engine.costs import costs_of
from workers.engine.cutting import CannotBeCut
from workers.engine.economy import settle
from workers.engine.envelope import prepare, survey_checks
from workers.engine.labour import hours
from workers.engine.layout import LayoutError, lay
from workers.engine.packs import order, unbought
from workers.engine.pricing import price
from workers.engine.quoting import break_down
from workers.engine.refusal import SettingRefused
from workers.engine.takeoff import measure


def plan_job(job: Job, standard: Standard, outputs: Outputs, price_book: PriceBook) -> Plan:
    """Everything computed for one job: where strips lie, what is cut, measured, bought, how long and how much.

    Raises:
        SurveyFaults: with every fault by pointer, where the job cannot be planned; the words say what to change.
    """
    usable = prepare(job)
    try:
        costs = costs_of(price_book, outputs, standard, usable)
        laying = lay(usable, standard, costs)
        layout, cut_list, economy = settle(usable, laying, costs, price_book, standard)
        take_off = measure(usable, layout, cut_list, standard, price_book)
        order_lines = order(take_off, cut_list, price_book, standard)
        labour = hours(usable, layout, take_off, outputs)
        priced = price(order_lines, labour, price_book)
        parts = break_down(usable, layout, take_off, order_lines, labour, priced, outputs, price_book)
    except (LayoutError, CannotBeCut) as error:
        raise SurveyFaults((Fault("/surfaces", str(error)),)) from error
    except SettingRefused as error:
        raise SurveyFaults((fault_of(error),)) from error
    return Plan(
        layout=layout,
        cut_list=cut_list,
        take_off=take_off,
        labour=labour,
        order_lines=order_lines,
        price=priced,
        checks=(
            *survey_checks(usable),
            *_layout_checks(usable, layout),
            *_sealing_checks(usable, take_off),
            *_buying_checks(unbought(take_off, price_book, standard)),
            *_price_checks(order_lines, price_book),
        ),
        breakdown=parts,
        economy=economy,
    )


def fault_of(refused: SettingRefused) -> Fault:
    """The refusal as a fault: it lies in a setting, so it points at nothing in the job."""
    return Fault("", f"Your {refused.setting}: {refused}")


def _layout_checks(job: Job, layout: Layout) -> Iterator[Check]:
    for number, surface in enumerate(layout.surfaces):
        adrift = [end.id for strip in surface.strips for end in strip.end_laps if not end.on_member]
        if adrift:
            yield Check(
                "warning",
                "end_lap_without_member",
                f"{surface.id}: no member lies behind the end lap {', '.join(adrift)}; put a batten there first.",
                f"/surfaces/{number}",
            )
        if not surface.strips:
            yield Check(
                "note",
                "nothing_to_lay",
                f"{job.surfaces[number].id} is all opening; no membrane is laid on it.",
                f"/surfaces/{number}",
            )


def _sealing_checks(job: Job, take_off: TakeOff) -> Iterator[Check]:
    places = {
        (surface.id, penetration.id): f"/surfaces/{number}/penetrations/{index}"
        for number, surface in enumerate(job.surfaces)
        for index, penetration in enumerate(surface.penetrations)
    }
    for sealing in take_off.penetrations:
        if (
            sealing.note and sealing.method == "taped"
        ):  # for want of a collar; the rest is plain from the schedule
            yield Check(
                "note",
                "sealing",
                f"{sealing.penetration} on {sealing.surface}: {sealing.note}",
                places[sealing.surface, sealing.penetration],
            )


def _buying_checks(kinds: tuple[ProductKind, ...]) -> Iterator[Check]:
    for kind in kinds:
        yield Check(
            "warning",
            "not_in_price_book",
            f"The job needs {kind.replace('_', ' ')}, and the price book has none: it is neither ordered nor priced.",
        )


def _price_checks(order_lines: tuple[OrderLine, ...], price_book: PriceBook) -> Iterator[Check]:
    """Prices that were not in force on the day the plan was made for."""
    if price_book.as_of is None:
        return
    bought = {line.product for line in order_lines}
    for product in price_book.products:
        ends = [pack.valid_until for pack in product.packs if pack.valid_until is not None]
        begins = [pack.valid_from for pack in product.packs if pack.valid_from is not None]
        when = ""
        if ends and max(ends) < price_book.as_of:
            when = f"held until {max(ends)}"
        elif begins and min(begins) > price_book.as_of:
            when = f"holds from {min(begins)}"
        if product.code in bought and when:
            yield Check(
                "warning",
                "price_not_in_force",
                f"The price of {product.name} {when}; the plan was priced for {price_book.as_of}. Ask for a new one.",
            )
