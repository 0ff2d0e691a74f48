"""Quotes are numbered, revisioned and frozen; orders are made once for each supplier; documents are kept once."""

from __future__ import annotations

import datetime
import functools
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import func, select, update

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job as JobRecord
from api_schema.order import Order as OrderRecord
from api_schema.quote import Quote as QuoteRecord
from api_schema.shape import dump, load
from service.records import (
    accounts,
    documents,
    hours,
    jobs,
    ledger,
    orders,
    quote_answers,
    quote_drafts,
    quotes,
    runs,
)
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.store import Store, now_of
from service.records.tables import Account, Blob, Quote, Run
from workers.engine.plan import plan_job

_BODY = {
    "reference": "PX-014",
    "title": "One room",
    "customer": {"name": "Example Homes", "address": ["1 Sample Street", "Exampletown"]},
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
def _planned() -> tuple[dict[str, Any], dict[str, Any]]:
    job = load(JobRecord, _BODY)
    plan = plan_job(job, default_standard(), default_outputs(), default_price_book())
    return dump(job), dump(plan)


def _ready_job(store: Store, account: Account) -> tuple[str, Run]:
    body, plan = _planned()
    with store.writing() as session:
        job = jobs.create_job(session, account.id, body)
        run = runs.queue_plan(session, account.id, job.id, 1)
    with store.writing() as session:
        claimed = ledger.claim(session, run.id, worker="w", lease_s=20)
        assert claimed is not None
        ledger.finish_plan(session, claimed, plan=plan, drawings={})
    return job.id, run


def _issue(store: Store, account: Account, job_id: str) -> Quote:
    with store.writing() as session:
        return quote_drafts.make_quote(session, account.id, job_id)


def test_a_quote_says_what_the_plan_costs_and_its_document_is_queued(store: Store, account: Account) -> None:
    job_id, run = _ready_job(store, account)
    quote = _issue(store, account, job_id)
    record = load(QuoteRecord, quote.body)
    year = datetime.datetime.now(datetime.UTC).year
    assert (record.number, record.revision, record.state) == (f"{year}-0001", 1, "issued")
    assert dump(record)["price"] == _planned()[1]["price"]
    assert record.customer.name == "Example Homes"
    assert record.issued_on is not None
    assert record.valid_until == record.issued_on + datetime.timedelta(days=30)
    with store.reading() as session:
        (render,) = runs.renders_of(session, account.id, job_id)
    assert (render.document_kind, render.subject_id, render.revision) == ("quote", quote.id, run.revision)


def test_a_second_quote_of_a_job_is_a_revision_and_takes_the_firsts_place(
    store: Store, account: Account
) -> None:
    job_id, _ = _ready_job(store, account)
    first, second = _issue(store, account, job_id), _issue(store, account, job_id)
    assert (second.number, second.revision) == (first.number, 2)
    with store.reading() as session:
        listed = quotes.list_quotes(session, account.id, job_id)
    assert [(quote.revision, quote.state, quote.body["state"]) for quote in listed] == [
        (2, "issued", "issued"),
        (1, "superseded", "superseded"),
    ]


def test_quotes_issued_side_by_side_have_numbers_without_gaps(store: Store, account: Account) -> None:
    ready = [_ready_job(store, account)[0] for _ in range(6)]
    with ThreadPoolExecutor(6) as pool:
        issued = list(pool.map(lambda job_id: _issue(store, account, job_id), ready * 2))
    numbers = sorted(quote.number for quote in issued)
    year = datetime.datetime.now(datetime.UTC).year
    assert numbers == sorted(f"{year}-{number:04d}" for number in range(1, 7) for _ in range(2))
    assert sorted(quote.revision for quote in issued) == [1] * 6 + [2] * 6


def test_nothing_is_quoted_or_ordered_before_the_present_revision_is_planned(
    store: Store, account: Account
) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        jobs.revise_job(session, account.id, job_id, _planned()[0], if_version=1)
    for make in (quote_drafts.make_quote, orders.create_orders):
        with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
            make(session, account.id, job_id)
        assert refusal.value.code == "plan_not_ready"


def test_an_issued_quote_is_answered_once(store: Store, account: Account) -> None:
    quote = _issue(store, account, _ready_job(store, account)[0])
    with pytest.raises(Stale), store.writing() as session:
        quote_answers.answer_quote(session, account.id, quote.id, "accepted", if_version=9)
    with store.writing() as session:
        accepted = quote_answers.answer_quote(session, account.id, quote.id, "accepted", if_version=1)
    assert (accepted.state, accepted.body["state"], accepted.version) == ("accepted", "accepted", 2)
    with store.writing() as session:
        assert quote_answers.answer_quote(session, account.id, quote.id, "accepted").version == 2
    with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
        quote_answers.answer_quote(session, account.id, quote.id, "declined")
    assert refusal.value.code == "quote_not_open"


def test_the_last_day_of_a_quote_lasts_until_it_is_over_everywhere() -> None:
    last = datetime.date(2026, 12, 25)
    moment = datetime.datetime(2026, 12, 26, 11, 59, 59, tzinfo=datetime.UTC)
    assert quotes.last_day_over(moment) < last  # it is 25 December, a second before midnight, at UTC-12
    assert quotes.last_day_over(moment + datetime.timedelta(seconds=1)) == last


def test_a_quote_cannot_be_accepted_after_its_last_day(store: Store, account: Account) -> None:
    quote = _issue(store, account, _ready_job(store, account)[0])
    with store.writing() as session:
        over = (now_of(session) - datetime.timedelta(hours=12)).date() - datetime.timedelta(days=1)
        session.execute(update(Quote).values(valid_until=over + datetime.timedelta(days=1)))
        assert quote_answers.expire_quotes(session) == 0
        session.execute(update(Quote).values(valid_until=over))
    with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
        quote_answers.answer_quote(session, account.id, quote.id, "accepted")
    assert refusal.value.code == "quote_expired"
    with store.writing() as session:
        assert quote_answers.expire_quotes(session) == 1
        assert quote_answers.expire_quotes(session) == 0
    with store.reading() as session:
        expired = quotes.get_quote(session, account.id, quote.id)
    assert (expired.state, expired.body["state"]) == ("expired", "expired")


def test_orders_hold_every_line_once_and_are_not_made_twice(store: Store, account: Account) -> None:
    job_id, _ = _ready_job(store, account)
    with ThreadPoolExecutor(4) as pool:

        def make(_: int) -> list[str]:
            with store.writing() as session:
                return [order.id for order in orders.create_orders(session, account.id, job_id)]

        made = list(pool.map(make, range(4)))
    assert all(ids == made[0] for ids in made)
    with store.reading() as session:
        records = [load(OrderRecord, row.body) for row in orders.list_orders(session, account.id, job_id)]
    lines = [dump(line) for record in records for line in record.lines]
    wanted = [line for line in _planned()[1]["order_lines"] if line["packs"] > 0]
    assert sorted(map(str, lines)) == sorted(map(str, wanted))
    for record in records:
        assert {line.supplier for line in record.lines} == {record.supplier.code}
        assert record.net == sum((line.price for line in record.lines), Decimal(0))
        assert record.deliver_to == ("1 Sample Street", "Exampletown")


def test_a_document_is_kept_once_and_is_the_accounts_own(store: Store, account: Account) -> None:
    job_id, run = _ready_job(store, account)
    about = {"kind": "site_pack", "subject_id": run.id, "filename": "site-pack.pdf"}
    with store.writing() as session:
        first = documents.add_document(session, account.id, job_id, content=b"%PDF one", **about)
        again = documents.add_document(session, account.id, job_id, content=b"%PDF two", **about)
        assert again.id == first.id
        copy = {**about, "subject_id": "run_other"}
        documents.add_document(session, account.id, job_id, content=b"%PDF one", **copy)
        other = accounts.create_account(session, name="Other Example", kind="contractor")
    with store.reading() as session:
        found = documents.get_document(session, account.id, first.id)
        assert documents.content_of(session, found) == b"%PDF one"
        assert session.scalar(select(func.count()).select_from(Blob)) == 1
        assert len(documents.list_documents(session, account.id, job_id, kind="site_pack")) == 2
        assert documents.document_of(session, other.id, kind="site_pack", subject_id=run.id) is None
        for ask in (
            lambda: documents.get_document(session, other.id, first.id),
            lambda: documents.list_documents(session, other.id, job_id),
        ):
            with pytest.raises(NotFound):
                ask()


def test_other_peoples_quotes_orders_and_hours_are_not_there(store: Store, account: Account) -> None:
    job_id, _ = _ready_job(store, account)
    quote = _issue(store, account, job_id)
    with store.writing() as session:
        order = orders.create_orders(session, account.id, job_id)[0]
        hours.record_hours(session, account.id, job_id, {"hours": "3.5"})
        other = accounts.create_account(session, name="Other Example", kind="contractor")
    with store.writing() as session:
        assert [row.body for row in hours.list_hours(session, account.id, job_id)] == [{"hours": "3.5"}]
        for ask in (
            lambda: quotes.get_quote(session, other.id, quote.id),
            lambda: quotes.list_quotes(session, other.id, job_id),
            lambda: quote_drafts.make_quote(session, other.id, job_id),
            lambda: quote_answers.answer_quote(session, other.id, quote.id, "accepted"),
            lambda: orders.get_order(session, other.id, order.id),
            lambda: orders.list_orders(session, other.id, job_id),
            lambda: orders.create_orders(session, other.id, job_id),
            lambda: hours.list_hours(session, other.id, job_id),
            lambda: hours.record_hours(session, other.id, job_id, {}),
        ):
            with pytest.raises(NotFound):
                ask()


@pytest.mark.parametrize(
    ("parts", "name"),
    [
        (("quote", "2026-0001", "1"), "quote-2026-0001-1.pdf"),
        (("site-pack", '../../etc/x\r\n"y', "1"), "site-pack-etc-x-y-1.pdf"),
        (("site-pack", "ünter 4/b", "2"), "site-pack-unter-4-b-2.pdf"),
    ],
)
def test_file_names_are_plain(parts: tuple[str, ...], name: str) -> None:
    assert documents.safe_name(*parts) == name
