"""On every database a job is finished once, whoever comes at the same time, and wholly or not at all."""

from __future__ import annotations

import functools
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job as JobRecord
from api_schema.price_book import PriceBook
from api_schema.shape import dump, load
from service.records import finishing, jobs, ledger, own_values, runs
from service.records.errors import NotPossibleNow, Stale
from service.records.store import Store
from service.records.tables import Account
from workers.engine.plan import plan_job

_BODY = {
    "reference": "PX-014",
    "surfaces": [
        {
            "id": "north",
            "kind": "wall",
            "outline_mm": [[0, 0], [4200, 0], [4200, 2450], [0, 2450]],
            "members": {"direction": "up", "centres_mm": 400},
            "edges": [{"edge": edge, "finish": "timber"} for edge in range(4)],
        }
    ],
}


@functools.cache
def _stocked_and_planned() -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    book = dump(default_price_book())
    for product in book["products"]:
        if product["code"] in ("tape-60", "membrane-1500"):
            product["on_hand"] = "200"
    job = load(JobRecord, _BODY)
    plan = plan_job(job, default_standard(), default_outputs(), load(PriceBook, book))
    return book, dump(job), dump(plan)


def _ready(store: Store, account: Account) -> str:
    book, body, plan = _stocked_and_planned()
    with store.writing() as session:
        version = own_values.get_value(session, account.id, "price_book").version
        own_values.put_value(session, account.id, "price_book", book, if_version=version)
        job = jobs.create_job(session, account.id, body)
        run = runs.queue_plan(session, account.id, job.id, 1)
    with store.writing() as session:
        claimed = ledger.claim(session, run.id, worker="w", lease_s=20)
        assert claimed is not None
        ledger.finish_plan(session, claimed, plan=plan, drawings={})
    return job.id


def _on_hand(store: Store, account: Account) -> dict[str, Decimal]:
    with store.reading() as session:
        book = own_values.get_value(session, account.id, "price_book").body
    return {
        product["code"]: Decimal(product["on_hand"])
        for product in book["products"]
        if Decimal(product["on_hand"])
    }


def test_of_many_who_finish_a_job_at_once_one_does(store: Store, account: Account) -> None:
    job_id = _ready(store, account)
    plan = _stocked_and_planned()[2]
    tape = next(line for line in plan["order_lines"] if line["kind"] == "lap_tape")

    def finish() -> bool:
        try:
            with store.writing() as session:
                finishing.finish_job(session, account.id, job_id, packs=(), keep=None)
        except (NotPossibleNow, Stale):
            return False
        return True

    with ThreadPoolExecutor(5) as pool:
        done = [one.result() for one in [pool.submit(finish) for _ in range(5)]]
    assert sum(done) == 1
    left = _on_hand(store, account)
    assert left["tape-60"] == 200 - Decimal(tape["from_stock"])
    rolls = sum(roll["from_stock"] for roll in plan["cut_list"]["rolls"])
    assert rolls
    assert left["membrane-1500"] == 200 - 50 * rolls


def test_what_fails_on_the_way_leaves_everything_as_it_was(store: Store, account: Account) -> None:
    job_id = _ready(store, account)
    before = _on_hand(store, account)
    with pytest.raises(NotPossibleNow, match="there is none at"), store.writing() as session:
        finishing.finish_job(session, account.id, job_id, packs=(), keep=[99])
    with store.reading() as session:
        assert finishing.finished(session, account.id, job_id) is None
    assert _on_hand(store, account) == before
    with store.writing() as session:
        finishing.finish_job(session, account.id, job_id, packs=(), keep=None)
    assert _on_hand(store, account) != before
