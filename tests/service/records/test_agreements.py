"""A job is changed to what was agreed once, however many ask; what was ordered before counts for its new plan."""

from __future__ import annotations

import copy
import dataclasses
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal

import pytest
from sqlalchemy import update

from api_schema.defaults import default_standard
from api_schema.shape import dump
from service.records import agreements, jobs, ledger, own_values, quote_answers, quote_drafts, runs
from service.records.errors import NotFound, NotPossibleNow
from service.records.store import Store
from service.records.tables import Account, Quote, Run
from tests.service.records.test_quotes_and_orders import _planned, _ready_job
from tests.service.records.test_quotes_stay_as_issued import WITH_ALTERNATIVES, price_now

BOTH = ("a", "b")


def accepted(store: Store, account: Account, chosen: tuple[str, ...] = BOTH) -> tuple[str, Run, str]:
    """A job, its plan, and a quote from it that was accepted with what was chosen."""
    job_id, run = _ready_job(store, account)
    with store.writing() as session:
        quote = quote_drafts.make_quote(session, account.id, job_id, WITH_ALTERNATIVES)
    price_now(store, account, quote.id)
    with store.writing() as session:
        quote_answers.answer_quote(session, account.id, quote.id, "accepted", chosen=chosen)
    return job_id, run, quote.id


def test_of_several_who_ask_at_once_one_changes_the_job(store: Store, account: Account) -> None:
    job_id, priced, quote_id = accepted(store, account)

    def ask(_: int) -> Run | None:
        with store.writing() as session:
            return agreements.plan_as_agreed(session, account.id, quote_id)[1]

    with ThreadPoolExecutor(4) as pool:
        made = [run for run in pool.map(ask, range(4)) if run is not None]
    with store.reading() as session:
        job = jobs.get_job(session, account.id, job_id)
        body = jobs.job_body(session, account.id, job_id, job.revision)
        (one,) = made
        assert (job.revision, one.revision) == (2, 2)
        assert (body["insulation"], body["collars"]) == ("blown_in", "by_others")
        assert [run.id for run in runs.list_plan_runs(session, account.id, job_id)] == [one.id, priced.id]
        assert agreements.plans_of_same_work(session, account.id, one) == (one.id, priced.id)
        assert agreements.plans_of_same_work(session, account.id, priced) == (priced.id,)


def test_it_is_planned_to_the_standard_that_was_priced(store: Store, account: Account) -> None:
    _, priced, quote_id = accepted(store, account)
    stricter = dataclasses.replace(default_standard(), lap_mm=160)
    with store.writing() as session:
        own_values.put_value(session, account.id, "standard", dump(stricter), if_version=0)
        _, run = agreements.plan_as_agreed(session, account.id, quote_id)
    assert run is not None
    assert run.snapshots["standard"] == priced.snapshots["standard"]


@pytest.mark.parametrize("more", [False, True])
def test_it_is_told_where_the_plan_as_agreed_needs_other_material(
    store: Store, account: Account, more: bool
) -> None:
    _, _, quote_id = accepted(store, account)
    plan = copy.deepcopy(_planned()[1])
    if more:
        line = plan["order_lines"][0]
        line["needed"] = str(Decimal(line["needed"]) + 1)
    with store.writing() as session:
        _, run = agreements.plan_as_agreed(session, account.id, quote_id)
        assert run is not None
        found = agreements.standing(session, account.id, quote_id)
        assert agreements.needs_otherwise(session, account.id, found) is None
        claimed = ledger.claim(session, run.id, worker="w", lease_s=20)
        assert claimed is not None
        ledger.finish_plan(session, claimed, plan=plan, drawings={})
    with store.reading() as session:
        found = agreements.standing(session, account.id, quote_id)
        assert agreements.needs_otherwise(session, account.id, found) is more


def test_a_job_that_went_on_changing_is_work_of_its_own(store: Store, account: Account) -> None:
    job_id, _, quote_id = accepted(store, account)
    with store.writing() as session:
        agreements.plan_as_agreed(session, account.id, quote_id)
        body = jobs.job_body(session, account.id, job_id, 2)
        jobs.revise_job(session, account.id, job_id, {**body, "stapler": "hand"}, if_version=2)
        run = runs.queue_plan(session, account.id, job_id, 3)
        assert agreements.plans_of_same_work(session, account.id, run) == (run.id,)
        found = agreements.standing(session, account.id, quote_id)
        assert (found.settings, found.changed_since) == ((), ("the stapler",))
        jobs.revise_job(
            session, account.id, job_id, {**body, "insulation": "in_place", "stapler": "hand"}, if_version=3
        )
        found = agreements.standing(session, account.id, quote_id)
        assert [(one.name, one.now, one.agreed) for one in found.settings] == [
            ("insulation", "in_place", "blown_in")
        ]


def test_what_the_quote_left_open_stays_as_the_job_says(store: Store, account: Account) -> None:
    job_id, _, quote_id = accepted(store, account, ("a",))
    body = {**_planned()[0], "insulation": "blown_in"}
    with store.writing() as session:
        jobs.revise_job(session, account.id, job_id, body, if_version=1)
        found, run = agreements.plan_as_agreed(session, account.id, quote_id)
        assert run is not None
        now = jobs.job_body(session, account.id, job_id, run.revision)
    assert [one.name for one in found.settings] == ["collars"]
    assert (now["insulation"], now["collars"]) == ("blown_in", "by_others")


def test_only_what_was_accepted_last_is_agreed_and_only_for_its_own_account(
    store: Store, account: Account
) -> None:
    job_id, _, first = accepted(store, account)
    with store.writing() as session:
        again = quote_drafts.make_quote(session, account.id, job_id)
        quote_answers.answer_quote(session, account.id, again.id, "accepted")
    for state, code in (("superseded", "quote_not_accepted"), ("accepted", "quote_replaced")):
        with store.writing() as session:  # of old times, when two could stand as accepted
            session.execute(update(Quote).where(Quote.id == first).values(state=state))
        with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
            agreements.plan_as_agreed(session, account.id, first)
        assert refusal.value.code == code
    with pytest.raises(NotFound), store.writing() as session:
        agreements.plan_as_agreed(session, "acc_of_others", again.id)
