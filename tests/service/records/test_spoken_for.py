"""No two jobs count on the same stock: what is left for one by its orders, the next plan does not see and cannot order on."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest

from api_schema.defaults import default_outputs, default_standard
from api_schema.job import Job as JobRecord
from api_schema.order_wish import LineCame, Receipt
from api_schema.price_book import Offcut, PriceBook
from api_schema.shape import dump, load
from service.records import finishing, jobs, ledger, offcuts, orders, own_values, runs
from service.records.errors import NotPossibleNow
from service.records.spoken_for import held_for_others, left_of, speak_for
from service.records.store import Store
from service.records.tables import Account, Order, Run
from tests.service.records.test_quotes_and_orders import _BODY
from workers.engine.plan import plan_job

TAPE, ROLL = "tape-60", "membrane-1500"


def stocked(store: Store, account: Account, **on_hand: str) -> None:
    """Puts so much of each product (dashes written as underscores) on hand, nothing of the others.

    One membrane and one tape are left in the price book, so that every plan wants the same.
    """
    amounts = {name.replace("_", "-"): Decimal(amount) for name, amount in on_hand.items()}
    with store.writing() as session:
        value = own_values.get_value(session, account.id, "price_book")
        book = load(PriceBook, value.body)
        products = tuple(
            dataclasses.replace(one, on_hand=amounts.get(one.code, Decimal(0)))
            for one in book.products
            if one.code in (ROLL, TAPE) or one.kind not in ("membrane", "lap_tape")
        )
        body = dump(dataclasses.replace(book, products=products))
        own_values.put_value(session, account.id, "price_book", body, if_version=value.version)


def planned(
    store: Store, account: Account, reference: str, *, job_id: str = ""
) -> tuple[str, dict[str, Any]]:
    """A job that a real plan was made of with what the account's snapshot has; gives its plan too."""
    with store.writing() as session:
        if not job_id:
            job_id = jobs.create_job(session, account.id, {**_BODY, "reference": reference}).id
        run = runs.queue_plan(session, account.id, job_id, 1)
        book = load(PriceBook, own_values.get_snapshot(session, account.id, run.snapshots["price_book"]))
        body = jobs.job_body(session, account.id, job_id, 1)
    plan = dump(plan_job(load(JobRecord, body), default_standard(), default_outputs(), book))
    with store.writing() as session:
        claimed = ledger.claim(session, run.id, worker="w", lease_s=20)
        assert claimed is not None
        ledger.finish_plan(session, claimed, plan=plan, drawings={})
    return job_id, plan


def ordered(store: Store, account: Account, job_id: str) -> list[Order]:
    with store.writing() as session:
        return orders.create_orders(session, account.id, job_id)


def drawn(plan: dict[str, Any], product: str) -> Decimal:
    """What a plan takes of a product from stock."""
    return sum(
        (Decimal(one["from_stock"]) for one in plan["order_lines"] if one["product"] == product), Decimal(0)
    )


def on_hand(store: Store, account: Account, product: str) -> Decimal:
    with store.reading() as session:
        book = own_values.get_value(session, account.id, "price_book").body
    return next(Decimal(one["on_hand"]) for one in book["products"] if one["code"] == product)


def need(plan: dict[str, Any], product: str) -> Decimal:
    lines = [one for one in plan["order_lines"] if one["product"] == product]
    return sum((Decimal(one["needed"]) + Decimal(one["waste"]) for one in lines), Decimal(0))


def receive(store: Store, account: Account, order: Order, receipt: Receipt | None = None) -> None:
    with store.writing() as session:
        if order.state == "draft":
            orders.move_order(session, account.id, order.id, "sent")
    with store.writing() as session:
        orders.move_order(session, account.id, order.id, "received", receipt=receipt)


def test_a_plan_made_after_anothers_orders_leaves_it_its_stock(store: Store, account: Account) -> None:
    stocked(store, account, tape_60="1000")
    first, plan = planned(store, account, "PX-1")
    wanted = drawn(plan, TAPE)
    assert wanted > 0
    stocked(store, account, tape_60=str(wanted + 1))
    ordered(store, account, first)
    _, later = planned(store, account, "PX-2")
    assert drawn(later, TAPE) == 1
    _, again = planned(store, account, "PX-1", job_id=first)  # its own it finds there
    assert drawn(again, TAPE) == wanted


def test_orders_of_a_plan_made_before_are_refused_with_who_counts_on_the_stock(
    store: Store, account: Account
) -> None:
    stocked(store, account, tape_60="1000")
    wanted = drawn(planned(store, account, "PX-0")[1], TAPE)
    stocked(store, account, tape_60=str(wanted))
    (first, _), (second, _) = planned(store, account, "PX-1"), planned(store, account, "PX-2")
    (draft, *others) = ordered(store, account, first)
    with pytest.raises(NotPossibleNow, match=r"PX-1 counts on it too\. Plan the job again") as refusal:
        ordered(store, account, second)
    assert refusal.value.code == "stock_changed"
    assert TAPE in str(refusal.value)
    with store.reading() as session:
        assert orders.list_orders(session, account.id, second) == []
    _, bought = planned(store, account, "PX-2", job_id=second)
    packs = sum(
        one["packs"] * Decimal(one["pack_size"]) for one in bought["order_lines"] if one["product"] == TAPE
    )
    assert drawn(bought, TAPE) + packs >= need(bought, TAPE)
    assert ordered(store, account, second)
    with store.writing() as session:  # without orders the first counts on nothing
        for order in (draft, *others):
            orders.delete_order(session, account.id, order.id)
    assert drawn(planned(store, account, "PX-3")[1], TAPE) == wanted


def test_of_two_ordered_for_at_once_one_is_told(store: Store, account: Account) -> None:
    stocked(store, account, tape_60="1000")
    wanted = drawn(planned(store, account, "PX-0")[1], TAPE)
    stocked(store, account, tape_60=str(wanted))
    both = [planned(store, account, name)[0] for name in ("PX-1", "PX-2")]

    def order(job_id: str) -> str:
        try:
            return str(len(ordered(store, account, job_id)))
        except NotPossibleNow as refusal:
            return refusal.code

    with ThreadPoolExecutor(2) as pool:
        said = sorted(pool.map(order, both))
    assert said[1] == "stock_changed"
    assert said[0].isdigit()


def test_what_came_for_a_job_is_its_own_until_it_is_finished_but_for_the_rest_of_the_packs(
    store: Store, account: Account
) -> None:
    stocked(store, account)
    first, plan = planned(store, account, "PX-1")
    for order in ordered(store, account, first):
        receive(store, account, order)
    came = on_hand(store, account, TAPE)
    assert came > need(plan, TAPE) > 0
    assert on_hand(store, account, ROLL) > 0
    second, later = planned(store, account, "PX-2")
    assert drawn(later, TAPE) == min(came - need(plan, TAPE), need(later, TAPE))
    assert drawn(later, ROLL) == 0
    with store.writing() as session:
        finishing.finish_job(session, account.id, first, packs=(), keep=())
    left = on_hand(store, account, TAPE)
    assert left == came - need(plan, TAPE)
    _, after = planned(store, account, "PX-2", job_id=second)
    assert drawn(after, TAPE) == min(left, need(after, TAPE))


def test_of_an_order_that_came_in_part_that_part_is_left_for_its_job(store: Store, account: Account) -> None:
    stocked(store, account)
    first, plan = planned(store, account, "PX-1")
    for order in ordered(store, account, first):
        with store.writing() as session:
            orders.move_order(session, account.id, order.id, "sent")
        sizes = [Decimal(one["pack_size"]) for one in order.body["lines"] if one["product"] == TAPE]
        if sizes:
            part = Receipt(lines=(LineCame(TAPE, 1, sizes[0]),))
            with store.writing() as session:
                orders.move_order(session, account.id, order.id, "received", receipt=part)
    came = on_hand(store, account, TAPE)
    assert came > 0
    _, later = planned(store, account, "PX-2")
    assert drawn(later, TAPE) == max(Decimal(0), came - need(plan, TAPE))


def test_a_job_that_stock_covers_whole_is_left_it_too(store: Store, account: Account) -> None:
    with store.reading() as session:
        codes = [
            one["code"] for one in own_values.get_value(session, account.id, "price_book").body["products"]
        ]
    everything = {code.replace("-", "_"): "5000" for code in codes}
    stocked(store, account, **everything)
    first, plan = planned(store, account, "PX-1")
    rolls = sum(
        (Decimal(one["length_mm"]) / 1000 for one in plan["cut_list"]["rolls"] if one["from_stock"]),
        Decimal(0),
    )
    stocked(store, account, **everything | {"membrane_1500": str(rolls)})
    assert ordered(store, account, first) == []
    _, later = planned(store, account, "PX-2")
    assert drawn(later, ROLL) == 0
    assert any(one["product"] == ROLL and one["packs"] for one in later["order_lines"])
    with store.writing() as session:
        jobs.delete_job(session, account.id, first, if_version=1)
    assert drawn(planned(store, account, "PX-3")[1], ROLL) > 0


def test_an_offcut_is_counted_on_by_one_job_alone(store: Store, account: Account) -> None:
    stocked(store, account)
    with store.writing() as session:
        value = own_values.get_value(session, account.id, "price_book")
        book = load(PriceBook, value.body)
        body = dump(dataclasses.replace(book, offcuts=(Offcut(ROLL, 30_000, 1500),)))
        own_values.put_value(session, account.id, "price_book", body, if_version=value.version)
    (first, plan), (second, _) = planned(store, account, "PX-1"), planned(store, account, "PX-2")
    assert [one["length_mm"] for one in plan["cut_list"]["rolls"] if one["from_stock"]] == [30_000]
    ordered(store, account, first)
    with pytest.raises(NotPossibleNow, match=r"an offcut of .*, and none of it is left, since PX-1 counts"):
        ordered(store, account, second)
    _, later = planned(store, account, "PX-2", job_id=second)
    assert not any(one["from_stock"] for one in later["cut_list"]["rolls"])
    with store.writing() as session:
        for order in orders.list_orders(session, account.id, first):
            orders.move_order(session, account.id, order.id, "sent")
    with store.writing() as session:
        for order in orders.list_orders(session, account.id, first):
            orders.move_order(session, account.id, order.id, "received")
        settled = offcuts.settle_plan(session, account.id, first, keep=[])
    assert [one.length_mm for one in settled.used] == [30_000]
    with store.reading() as session:
        run = runs.latest_ready_run(session, account.id, second)
    assert isinstance(run, Run)


def test_sealant_kept_by_the_cartridge_is_left_by_the_cartridge(
    store: Store, account: Account, queued: Callable[..., Run]
) -> None:
    """Of three cartridges of 310 ml one job draws 620 ml, which are two."""
    sealant = {"code": "s", "kind": "sealant", "unit": "piece", "millilitres": "310", "on_hand": "3"}
    book = {"products": [{**sealant, "packs": [{"size": "1"}]}], "offcuts": []}
    line = {"product": "s", "kind": "sealant", "needed": "900", "waste": "30", "from_stock": "620"}
    runs_ = queued(account), queued(account)

    def order(run: Run) -> None:
        with store.writing() as session:
            speak_for(session, account.id, run, rolls=[], lines=[line], planned_book=book, book=book)

    order(runs_[0])
    with store.reading() as session:
        held = held_for_others(session, account.id, None)
        assert held_for_others(session, account.id, str(runs_[0].job_id)) == []
    assert [one.products for one in held] == [{"s": 2}]
    assert left_of(book, held)["products"][0]["on_hand"] == "1"
    with pytest.raises(NotPossibleNow, match="takes 2 of s from stock, and 1 of it is left"):
        order(runs_[1])
