"""A job's ledger: quoted beside actual hours, packs and money."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from api_schema.currency import minor_unit
from api_schema.job_ledger import JobLedger, LedgerHours, LedgerMoney, LedgerPacks, LedgerQuote
from api_schema.outputs import OPERATIONS
from api_schema.shape import dump
from service.api.operation import Answer, Asked, Resource
from service.api.problems import Refusal
from service.records import finishing, hours, jobs, orders, own_values, quotes, runs, tables
from service.records.receipts import PackKey, came_of, to_come

job_ledger = Resource("ledger", "Job ledger", "What a job was quoted at beside what it took.")
_SENT = ("sent", "confirmed", "received")
_NONE = Decimal(0)


@job_ledger.operation(
    "GET",
    "/v1/jobs/{job}/ledger",
    "Read a job's ledger",
    scope="read",
    gives={200: JobLedger},
    may_answer=(404, 409),
)
def read_ledger(asked: Asked, job: str) -> Answer:
    """Gives quoted beside recorded hours, quoted beside ordered packs, and both in money.

    It stands on the accepted quote with the alternatives that were chosen, else on the one issued last, else on the newest plan. 409 before there is a plan.
    """
    session, account_id = asked.session, asked.caller.account_id
    jobs.get_job(session, account_id, job)
    quote = _quote(quotes.list_quotes(session, account_id, job))
    run = (
        runs.latest_ready_run(session, account_id, job)
        if quote is None
        else runs.get_run(session, account_id, quote.run_id)
    )
    if run is None:
        raise Refusal("plan_not_ready", "This job has no ready plan yet.")
    plan = runs.get_plan(session, account_id, run.id)
    agreed = None if quote is None else quotes.behind(session, account_id, quote)
    labour = plan["labour"] if agreed is None else agreed.labour
    lines = plan["order_lines"] if agreed is None else agreed.order_lines
    book = own_values.get_snapshot(session, account_id, run.snapshots["price_book"])
    recorded = [row.body for row in hours.list_hours(session, account_id, job)]
    ordered = [row.body for row in orders.list_orders(session, account_id, job)]
    worked = tuple(_hours(labour, recorded))
    done = finishing.finished(session, account_id, job)
    packs = tuple(_packs(lines, ordered, [] if done is None else done.body["packs"], book))
    net = None if agreed is None else Decimal(agreed.price["net"])
    ledger = JobLedger(
        job=job,
        quote=None if quote is None else LedgerQuote(quote.id, quote.number, quote.revision, quote.state),  # type: ignore[arg-type]
        hours=worked,
        quoted_h=sum((one.quoted_h for one in worked), _NONE),
        recorded_h=sum((one.recorded_h for one in worked), _NONE),
        packs=packs,
        in_money=_money(worked, packs, ordered, net, book, finished=done is not None),
        finished_at=None if done is None else done.created_at,
    )
    return Answer(dump(ledger))


def _quote(found: list[tables.Quote]) -> tables.Quote | None:
    """The accepted one, else the newest that was issued."""
    issued = [quote for quote in found if quote.state != "draft"]
    accepted = [quote for quote in issued if quote.state == "accepted"]
    return next(iter(accepted or issued), None)


def _hours(labour: Mapping[str, Any], recorded: list[dict[str, Any]]) -> Iterable[LedgerHours]:
    for operation in OPERATIONS:
        quoted = sum(
            (Decimal(line["hours"]) for line in labour["operations"] if line["operation"] == operation), _NONE
        )
        worked = sum(
            (
                Decimal(entry["hours"])
                for record in recorded
                for entry in record["operations"]
                if entry["operation"] == operation
            ),
            _NONE,
        )
        if quoted or worked:
            yield LedgerHours(operation, quoted, worked, worked - quoted)


def _packs(
    lines: list[Any], ordered: list[dict[str, Any]], used: list[dict[str, Any]], book: Mapping[str, Any]
) -> Iterable[LedgerPacks]:
    found: dict[tuple[str, str], LedgerPacks] = {}
    came: dict[PackKey, int] = {}

    def add(line: Mapping[str, Any], *, quoted: bool = False, sent: bool = False) -> None:
        key = (line["product"], line["pack_size"])
        so_far = found.get(key) or LedgerPacks(key[0], Decimal(key[1]), 0, 0, 0, _NONE, _NONE)
        count, price = line["packs"], Decimal(line["price"])
        found[key] = LedgerPacks(
            so_far.product,
            so_far.pack_size,
            so_far.quoted + count * quoted,
            so_far.ordered + count * sent,
            so_far.received,
            so_far.quoted_price + price * quoted,
            so_far.ordered_price + price * sent,
        )

    def use(entry: Mapping[str, Any]) -> None:
        size, count = Decimal(entry["pack_size"]), Decimal(entry["packs"])
        key = next((one for one in found if one[0] == entry["product"] and Decimal(one[1]) == size), None)
        key = key or (entry["product"], entry["pack_size"])
        so_far = found.get(key) or LedgerPacks(key[0], size, 0, 0, 0, _NONE, _NONE)
        each = so_far.quoted_price / so_far.quoted if so_far.quoted else _price_of(key[0], size, book)
        found[key] = dataclasses.replace(
            so_far,
            used=(so_far.used or _NONE) + count,
            used_price=(so_far.used_price or _NONE) + _rounded(count * each, book),
        )

    for line in lines:
        if line["packs"]:
            add(line, quoted=True)
    for order in ordered:
        for line in order["lines"]:
            add(line, sent=order["state"] in _SENT)
        for key, packs in came_of(order, order["state"]).items():
            came[key] = came.get(key, 0) + packs
    for place, row in found.items():
        found[place] = dataclasses.replace(row, received=came.get((row.product, row.pack_size), 0))
    for entry in used:
        use(entry)
    return found.values()


def _price_of(code: str, size: Decimal, book: Mapping[str, Any]) -> Decimal:
    """A pack of that size by the price book, by its share of the cheapest where it is sold in no such pack."""
    for product in book["products"]:
        if product["code"] == code:
            content = Decimal(1)
            if product["kind"] == "sealant" and product["unit"] == "piece" and product["millilitres"]:
                content = Decimal(product["millilitres"])
            sold = {Decimal(pack["size"]) * content: Decimal(pack["price"]) for pack in product["packs"]}
            return sold.get(size) or size * min(price / held for held, price in sold.items())
    return _NONE


def _money(
    worked: tuple[LedgerHours, ...],
    packs: tuple[LedgerPacks, ...],
    ordered: list[dict[str, Any]],
    net: Decimal | None,
    book: Mapping[str, Any],
    *,
    finished: bool,
) -> LedgerMoney:
    cost = Decimal(book["rules"]["labour_cost_per_h"])
    recorded = _rounded(sum((one.recorded_h for one in worked), _NONE) * cost, book)
    told = {one.product for one in packs if one.used is not None}
    used = (
        sum(
            (one.used_price or _NONE if one.product in told else one.quoted_price for one in packs),
            _NONE,
        )
        if finished
        else None
    )
    bought = sum((_to_pay(order, book) for order in ordered if order["state"] in _SENT), _NONE)
    return LedgerMoney(
        currency=book["currency"],
        quoted_net=net,
        labour_cost_per_h=cost,
        quoted_labour=_rounded(sum((one.quoted_h for one in worked), _NONE) * cost, book),
        recorded_labour=recorded,
        quoted_materials=sum((one.quoted_price for one in packs), _NONE),
        ordered_materials=bought,
        result=None if net is None else net - recorded - bought,
        used_materials=used,
        result_by_use=None if net is None or used is None else net - recorded - used,
    )


def _to_pay(order: Mapping[str, Any], book: Mapping[str, Any]) -> Decimal:
    """Without tax: the order, and of one that was closed before all of it came what did come."""
    missing = to_come(order, order["state"]) if order["state"] == "received" else {}
    prices = {
        (line["product"], Decimal(line["pack_size"])): Decimal(line["pack_price"]) for line in order["lines"]
    }
    return Decimal(order["net"]) - sum(
        (_rounded(prices[key] * count, book) for key, count in missing.items()), _NONE
    )


def _rounded(amount: Decimal, book: Mapping[str, Any]) -> Decimal:
    return amount.quantize(minor_unit(book["currency"]), ROUND_HALF_EVEN)
