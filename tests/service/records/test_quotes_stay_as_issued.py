"""Whatever is done afterwards, an issued quote says what it said; numbers have no gaps, however many issue at once."""

from __future__ import annotations

import datetime
import shutil
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import psycopg
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import update

from api_schema.breakdown import Breakdown
from api_schema.quote import QuoteState
from api_schema.quote_alternatives import Alternative, choices
from api_schema.quote_options import QuoteOptions
from api_schema.quote_wish import QuoteWish
from api_schema.shape import dump, load
from service.records import (
    accounts,
    jobs,
    ledger,
    own_values,
    quote_answers,
    quote_drafts,
    quote_issuing,
    quotes,
    runs,
)
from service.records.errors import NotPossibleNow, Stale
from service.records.store import Store, now_of
from service.records.tables import Account, Quote, QuoteCombination
from tests.service.records.test_quotes_and_orders import _planned, _ready_job

DISCOUNT = QuoteWish(options=QuoteOptions(discount=Decimal("0.1")))
WITH_ALTERNATIVES = QuoteWish(
    alternatives=(
        Alternative(name="Collars by your trades", collars="by_others"),
        Alternative(name="Insulation blown in", fixing="blown_in"),
    )
)


def price_now(store: Store, account: Account, quote_id: str) -> Quote:
    """What a worker does with a quote that has options or alternatives; every price is the plan's here."""
    _, plan = _planned()
    behind = {name: plan[name] for name in ("price", "labour", "order_lines", "breakdown")}
    with store.writing() as session:
        alternatives = quotes.alternatives_of(quotes.get_quote(session, account.id, quote_id))
        found = [
            quote_drafts.PricedChoice(tuple(str(one.code) for one in chosen), **behind)
            for chosen in choices(alternatives)
        ]
        nothing = Decimal("0.00")
        offered = [replace(one, net_difference=nothing, total_difference=nothing) for one in alternatives]
        return quote_drafts.priced(session, account.id, quote_id, found, [dump(one) for one in offered])


def test_a_draft_has_no_number_until_it_is_issued_and_is_dated_that_day(
    store: Store, account: Account
) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        draft = quote_drafts.make_quote(session, account.id, job_id, QuoteWish(draft=True, valid_days=7))
    assert (draft.state, draft.body["number"], draft.body["issued_on"]) == ("draft", "", None)
    with store.reading() as session:
        assert runs.renders_of(session, account.id, job_id) == []
    with store.writing() as session:
        issued = quote_issuing.issue_draft(session, account.id, draft.id)
    assert issued.body["number"].endswith("-0001")
    assert issued.valid_until == issued.issued_on + datetime.timedelta(days=7)
    assert issued.body["price"] == draft.body["price"]


def test_a_quote_with_options_waits_for_its_price_and_is_then_issued(store: Store, account: Account) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        quote = quote_drafts.make_quote(session, account.id, job_id, DISCOUNT)
    assert (quote.state, quote.body["price"]) == ("draft", None)
    with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
        quote_issuing.issue_draft(session, account.id, quote.id)
    assert refusal.value.code == "quote_not_priced"
    priced = price_now(store, account, quote.id)
    assert (priced.state, priced.body["number"][-4:]) == ("issued", "0001")
    with store.reading() as session:
        assert load(Breakdown, quotes.breakdown_of(session, account.id, priced)).net > 0
    body, version = priced.body, priced.version
    again = price_now(store, account, quote.id)
    assert (again.body, again.version) == (body, version)


def test_a_quote_priced_after_its_job_changed_stays_a_draft(store: Store, account: Account) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        quote = quote_drafts.make_quote(session, account.id, job_id, DISCOUNT)
        jobs.revise_job(session, account.id, job_id, _planned()[0], if_version=1)
    assert price_now(store, account, quote.id).state == "draft"
    with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
        quote_issuing.issue_draft(session, account.id, quote.id)
    assert refusal.value.code == "quote_outdated"


def test_fifty_issued_at_once_have_numbers_without_gaps(postgres: Any, postgres_template: str) -> None:
    with psycopg.connect(postgres.get_uri(), autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE fifty_at_once TEMPLATE {postgres_template}")
    store = Store(postgres.get_uri("fifty_at_once"), pool_size=25)
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
    ready = [_ready_job(store, account)[0] for _ in range(50)]

    def issue(job_id: str) -> str:
        with store.writing() as session:
            return quote_drafts.make_quote(session, account.id, job_id).number

    with ThreadPoolExecutor(50) as pool:
        numbers = list(pool.map(issue, ready))
    store.close()
    year = datetime.datetime.now(datetime.UTC).year
    assert sorted(numbers) == [f"{year}-{number:04d}" for number in range(1, 51)]


def test_answers_and_revisions_at_once_leave_one_of_them_standing(store: Store, account: Account) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        first = quote_drafts.make_quote(session, account.id, job_id)

    def accept(_: int) -> str:
        try:
            with store.writing() as session:
                return quote_answers.answer_quote(session, account.id, first.id, "accepted").state
        except NotPossibleNow as refusal:
            return refusal.code

    def revise(_: int) -> str:
        with store.writing() as session:
            return quote_drafts.make_quote(session, account.id, job_id).state

    with ThreadPoolExecutor(6) as pool:
        done = [pool.submit(accept if turn % 2 else revise, turn) for turn in range(6)]
        said = [one.result() for one in done]
    with store.reading() as session:
        now = quotes.get_quote(session, account.id, first.id).state
    assert now == ("accepted" if "accepted" in said else "superseded")
    assert said.count("issued") == 3


DOINGS = (
    "issue",
    "draft",
    "option",
    "alternatives",
    "issue_draft",
    "accept",
    "choose",
    "decline",
    "expire",
    "reprice",
    "book",
    "profile",
    "revise",
)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(st.sampled_from(DOINGS), min_size=3, max_size=14))
def test_no_quote_changes_after_it_was_issued(sqlite_template: Path, doings: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(sqlite_template, Path(folder) / "lapwise.db")
        store = Store(f"sqlite:///{Path(folder) / 'lapwise.db'}", pooled=False)
        with store.writing() as session:
            account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
        job_id, _ = _ready_job(store, account)
        frozen: dict[str, dict[str, Any]] = {}
        for doing in doings:
            _do(store, account, job_id, doing)
            with store.reading() as session:
                rows = quotes.list_quotes(session, account.id, job_id)
            for row in rows:
                said = {name: value for name, value in row.body.items() if name != "state"}
                if row.state != "draft":
                    assert frozen.setdefault(row.id, said) == said
                    assert row.body["state"] == row.state
                else:
                    assert row.id not in frozen
            issued = sorted(row.revision for row in rows if row.state != "draft")
            assert issued == list(range(1, len(issued) + 1))
            assert sum(row.state == "issued" for row in rows) <= 1
            assert sum(row.state == "accepted" for row in rows) <= 1
        store.close()


def _do(store: Store, account: Account, job_id: str, doing: str) -> None:
    with store.reading() as session:
        rows = quotes.list_quotes(session, account.id, job_id)
    drafts = [row for row in rows if row.state == "draft"]
    issued = [row for row in rows if row.state == "issued"]
    try:
        with store.writing() as session:
            if doing in ("issue", "draft", "option", "alternatives"):
                wishes = {"option": DISCOUNT, "alternatives": WITH_ALTERNATIVES}
                wish = wishes.get(doing, QuoteWish(draft=doing == "draft"))
                quote_drafts.make_quote(session, account.id, job_id, wish)
            elif doing == "issue_draft" and drafts:
                quote_issuing.issue_draft(session, account.id, drafts[0].id)
            elif doing in ("accept", "choose", "decline") and rows:
                state = "declined" if doing == "decline" else "accepted"
                codes = [str(one.code) for one in quotes.alternatives_of(rows[0])]
                chosen = codes[-1:] if doing == "choose" else ()
                quote_answers.answer_quote(
                    session, account.id, rows[0].id, state, by="A. Sample", chosen=chosen
                )
            elif doing == "expire" and issued:
                past = now_of(session).date() - datetime.timedelta(days=2)
                session.execute(update(Quote).where(Quote.id == issued[0].id).values(valid_until=past))
                quote_answers.expire_quotes(session)
            elif doing == "book":
                value = own_values.get_value(session, account.id, "price_book")
                body = {**value.body, "currency": "CHF"}
                own_values.put_value(session, account.id, "price_book", body, if_version=value.version)
            elif doing == "profile":
                row = accounts.get_account(session, account.id)
                profile = {**row.profile, "terms": "Other terms.", "quote_valid_days": 5}
                accounts.put_profile(session, account.id, profile, if_version=row.version)
            elif doing == "revise":
                job = jobs.get_job(session, account.id, job_id)
                body = {**_planned()[0], "title": f"Revision {job.revision + 1}"}
                jobs.revise_job(session, account.id, job_id, body, if_version=job.version)
                runs.queue_plan(session, account.id, job_id, job.revision)
    except (NotPossibleNow, Stale):
        return
    if doing == "reprice":
        for row in drafts:
            if row.body["price"] is None:
                price_now(store, account, row.id)
    if doing == "revise":
        with store.writing() as session:
            run = runs.latest_run(session, account.id, job_id)
            assert run is not None
            claimed = ledger.claim(session, run.id, worker="w", lease_s=20)
            assert claimed is not None
            ledger.finish_plan(session, claimed, plan=_planned()[1], drawings={})


def test_the_previous_of_a_draft_is_the_one_issued_last(store: Store, account: Account) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        first = quote_drafts.make_quote(session, account.id, job_id)
        draft = quote_drafts.make_quote(session, account.id, job_id, QuoteWish(draft=True))
        second = quote_drafts.make_quote(session, account.id, job_id)
        assert quotes.previous_of(session, account.id, first) is None
        assert quotes.previous_of(session, account.id, second) is not None
        found = quotes.previous_of(session, account.id, draft)
    assert found is not None
    assert found.id == second.id


def test_a_choice_is_kept_beside_the_quote_and_what_follows_goes_by_it(
    store: Store, account: Account
) -> None:
    job_id, run = _ready_job(store, account)
    with store.writing() as session:
        quote = quote_drafts.make_quote(session, account.id, job_id, WITH_ALTERNATIVES)
    issued = price_now(store, account, quote.id)
    before = dict(issued.body)
    with pytest.raises(ValueError, match="cannot be chosen"), store.writing() as session:
        quote_answers.answer_quote(session, account.id, quote.id, "accepted", chosen=["z"])
    with store.writing() as session:
        accepted = quote_answers.answer_quote(session, account.id, quote.id, "accepted", chosen=["b", "a"])
    assert accepted.body == {**before, "state": "accepted"}
    with store.writing() as session:
        session.execute(
            update(QuoteCombination).where(QuoteCombination.chosen == "a,b").values(order_lines=[])
        )
    with store.reading() as session:
        basis = quotes.basis_of(session, account.id, quote.id)
        assert quotes.chosen_of(accepted, basis) == ["a", "b"]
        assert quotes.lines_to_order(session, account.id, run) == []
    with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
        quote_answers.answer_quote(session, account.id, quote.id, "accepted", chosen=["a"])
    assert refusal.value.code == "chosen_otherwise"


def test_a_later_revision_accepted_takes_the_place_of_the_one_accepted_before(
    store: Store, account: Account
) -> None:
    job_id, run = _ready_job(store, account)

    def issued() -> Quote:
        with store.writing() as session:
            return quote_drafts.make_quote(session, account.id, job_id)

    def answer(quote: Quote, state: QuoteState) -> None:
        with store.writing() as session:
            quote_answers.answer_quote(session, account.id, quote.id, state, by="A. Sample")

    def states() -> dict[int, str]:
        with store.reading() as session:
            return {row.revision: row.state for row in quotes.list_quotes(session, account.id, job_id)}

    first = issued()
    answer(first, "accepted")
    declined = issued()
    answer(declined, "declined")
    last = issued()
    assert states() == {1: "accepted", 2: "declined", 3: "issued"}  # nothing new is agreed yet
    answer(last, "accepted")
    assert states() == {1: "superseded", 2: "declined", 3: "accepted"}
    with store.reading() as session:
        found = quotes.accepted_of(session, account.id, run)
        basis = quotes.basis_of(session, account.id, first.id)
    assert found is not None
    assert found.id == last.id
    assert basis is not None
    assert basis.answered_by == "A. Sample"
    with pytest.raises(NotPossibleNow) as refusal:
        answer(first, "accepted")
    assert refusal.value.code == "quote_not_open"


def test_of_several_choices_at_once_one_stands_and_the_others_are_told(
    store: Store, account: Account
) -> None:
    job_id, _ = _ready_job(store, account)
    with store.writing() as session:
        quote = quote_drafts.make_quote(session, account.id, job_id, WITH_ALTERNATIVES)
    price_now(store, account, quote.id)

    def accept(chosen: list[str]) -> str:
        try:
            with store.writing() as session:
                quotes.basis_of(session, account.id, quote.id)  # as one who has looked at it first
                quote_answers.answer_quote(session, account.id, quote.id, "accepted", chosen=chosen)
        except NotPossibleNow as refusal:
            return refusal.code
        return ",".join(chosen)

    wanted = [["a"], ["b"], ["a", "b"], []]
    with ThreadPoolExecutor(4) as pool:
        said = list(pool.map(accept, wanted))
    with store.reading() as session:
        row = quotes.get_quote(session, account.id, quote.id)
        chosen = quotes.chosen_of(row, quotes.basis_of(session, account.id, quote.id))
    assert chosen in wanted
    assert said == [",".join(one) if one == chosen else "chosen_otherwise" for one in wanted]
