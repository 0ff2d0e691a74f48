"""The one function that walks the whole way: from a job to its plan."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from decimal import ROUND_CEILING, Decimal

from api_schema.cut_list import CutList
from api_schema.economy import Economy
from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.order_line import OrderLine
from api_schema.outputs import Outputs
from api_schema.plan import Check, Plan
from api_schema.price_book import PriceBook, ProductKind
from api_schema.problem import Fault, SurveyFaults
from api_schema.said import Key, said
from api_schema.standard import Standard
from api_schema.take_off import TakeOff
from workers.engine.costs import costs_of
from workers.engine.cutting import CannotBeCut
from workers.engine.cutting.splices import splice
from workers.engine.economy import settle
from workers.engine.envelope import prepare, survey_checks
from workers.engine.labour import hours
from workers.engine.layout import LayoutError, lay
from workers.engine.packs import order, unbought
from workers.engine.pricing import price
from workers.engine.quoting import break_down
from workers.engine.refusal import SettingRefused
from workers.engine.saying import check
from workers.engine.takeoff import measure

_MOST_NAMED = 6  # splices named in a check; the cut list names them all


def plan_job(job: Job, standard: Standard, outputs: Outputs, price_book: PriceBook) -> Plan:
    """Everything computed for one job: where strips lie, what is cut, measured, bought, how long and how much.

    Raises:
        SurveyFaults: with every fault by pointer, where the job cannot be planned; the words say what to change.
    """
    usable = prepare(job)
    try:
        costs = costs_of(price_book, outputs, standard, usable)
        laying = lay(usable, standard, costs)
        layout, cut_list, economy = settle(laying, costs, price_book, standard)
        plan = _reckoned(layout, cut_list, economy, usable, standard, outputs, price_book)
        with_splices = splice(usable, layout, cut_list, costs, price_book, standard)
        if with_splices is not None:
            laid, cut_anew = with_splices
            joined = _with_joints(economy, cut_anew)
            plan = _cheaper(
                plan, _reckoned(laid, cut_anew, joined, usable, standard, outputs, price_book), price_book
            )
    except (LayoutError, CannotBeCut) as error:
        raise SurveyFaults((Fault("/surfaces", str(error)),)) from error
    except SettingRefused as error:
        raise SurveyFaults((fault_of(error),)) from error
    return plan


def _reckoned(
    layout: Layout, cut_list: CutList, economy: Economy,
    usable: Job, standard: Standard, outputs: Outputs, price_book: PriceBook,
) -> Plan:  # fmt: skip
    """All that follows from where the strips lie and how they are cut."""
    take_off = measure(usable, layout, cut_list, standard, price_book)
    order_lines = order(take_off, cut_list, price_book, standard)
    labour = hours(usable, layout, take_off, outputs)
    priced = price(order_lines, labour, price_book, usable.tax)
    parts = break_down(usable, layout, take_off, order_lines, labour, priced, outputs, price_book)
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
            *_splice_checks(cut_list),
            *_sealing_checks(usable, take_off),
            *_buying_checks(unbought(take_off, price_book, standard)),
            *_price_checks(order_lines, price_book),
        ),
        breakdown=parts,
        economy=economy,
    )


def _with_joints(economy: Economy, cut_list: CutList) -> Economy:
    """The economy of the same layout with the splices of its cut list."""
    joints = cut_list.spliced.splices_cost if cut_list.spliced is not None else Decimal(0)
    beside = economy.laps_and_pieces + joints
    cost = cut_list.cost + beside
    return dataclasses.replace(
        economy, rolls=cut_list.cost, laps_and_pieces=beside, cost=cost, proven=economy.bound >= cost
    )


def _cheaper(whole: Plan, spliced: Plan, price_book: PriceBook) -> Plan:
    """The spliced plan only where nothing that is bought or worked takes back what the rolls save.

    A joint may need one more roll of tape, or the hours one more day; so what is paid is compared, and the price.
    """

    def paid(plan: Plan) -> Decimal:
        rules = price_book.rules
        days = plan.labour.crew_days.to_integral_value(ROUND_CEILING)
        bought = sum((line.price for line in plan.order_lines), Decimal(0))
        return bought + plan.labour.likely_h * rules.labour_cost_per_h + days * rules.travel_charge

    return spliced if paid(spliced) < paid(whole) and spliced.price.net <= whole.price.net else whole


def fault_of(refused: SettingRefused) -> Fault:
    """The refusal as a fault: it lies in a setting, so it points at nothing in the job."""
    return Fault("", f"Your {refused.setting}: {refused}")


def _layout_checks(job: Job, layout: Layout) -> Iterator[Check]:
    for number, surface in enumerate(layout.surfaces):
        adrift = [end.id for strip in surface.strips for end in strip.end_laps if not end.on_member]
        if adrift:
            yield check(
                "warning",
                "end_lap_without_member",
                said("check.end_lap_without_member", surface=surface.id, laps=", ".join(adrift)),
                f"/surfaces/{number}",
            )
        if not surface.strips:
            yield check(
                "note",
                "nothing_to_lay",
                said("check.nothing_to_lay", surface=job.surfaces[number].id),
                f"/surfaces/{number}",
            )


def _splice_checks(cut_list: CutList) -> Iterator[Check]:
    found = cut_list.spliced
    if found is None:
        return
    saved = found.rolls_saved
    key = f"check.spliced.{'one' if saved == 1 else 'many' if saved > 0 else 'cheaper'}"
    named: dict[str, str | int] = {"rolls": saved} if saved > 1 else {}
    named["pieces"] = ", ".join(one.piece for one in found.splices[:_MOST_NAMED])
    more = len(found.splices) - _MOST_NAMED
    if more > 0:
        key, named["more"] = f"{key}.more", more
    yield check("note", "spliced", said(key, **named))


def _sealing_checks(job: Job, take_off: TakeOff) -> Iterator[Check]:
    places = {
        (surface.id, penetration.id): f"/surfaces/{number}/penetrations/{index}"
        for number, surface in enumerate(job.surfaces)
        for index, penetration in enumerate(surface.penetrations)
    }
    for sealing in take_off.penetrations:
        note = sealing.note_said
        if note is not None and sealing.method == "taped":  # no collar fits; the schedule tells the rest
            where = said(f"check.{note.key}", penetration=sealing.penetration, surface=sealing.surface)
            yield check(
                "note",
                "sealing",
                dataclasses.replace(where, parts=(*where.parts, *note.parts)),
                places[sealing.surface, sealing.penetration],
            )


def _buying_checks(kinds: tuple[ProductKind, ...]) -> Iterator[Check]:
    for kind in kinds:
        needed = said("check.not_in_price_book", product_kind=Key(f"kind.{kind}"))
        yield check("warning", "not_in_price_book", needed)


def _price_checks(order_lines: tuple[OrderLine, ...], price_book: PriceBook) -> Iterator[Check]:
    """Prices that were not in force on the day the plan was made for."""
    if price_book.as_of is None:
        return
    bought = {line.product for line in order_lines}
    for product in price_book.products:
        ends = [pack.valid_until for pack in product.packs if pack.valid_until is not None]
        begins = [pack.valid_from for pack in product.packs if pack.valid_from is not None]
        key, day = "", price_book.as_of
        if ends and max(ends) < price_book.as_of:
            key, day = "check.price_held_until", max(ends)
        elif begins and min(begins) > price_book.as_of:
            key, day = "check.price_holds_from", min(begins)
        if product.code in bought and key:
            stale = said(key, product=product.name, day=day, as_of=price_book.as_of)
            yield check("warning", "price_not_in_force", stale)
