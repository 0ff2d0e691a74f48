"""The sweeper takes runs from dead workers, and not from live ones that were kept from saying so."""

from __future__ import annotations

import datetime

import pytest
from sqlalchemy import update

from service.records import accounts, jobs, ledger, runs
from service.records.store import Store, now_of
from service.records.tables import Run
from service.settings import Settings
from workers.sweeper import Patience, sweep_once

_S = datetime.timedelta(seconds=1)
_NOON = datetime.datetime(2026, 3, 2, 12, tzinfo=datetime.UTC)


@pytest.fixture
def claimed(store: Store) -> ledger.Claim:
    """A run whose worker was last heard from longer ago than its lease."""
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
        job = jobs.create_job(session, account.id, {"reference": "PX-014"})
        run = runs.queue_plan(session, account.id, job.id, 1)
        made = ledger.claim(session, run.id, worker="worker-a", lease_s=15)
        assert made is not None
        session.execute(update(Run).where(Run.id == run.id).values(lease_until=now_of(session) - _S))
        return made


def test_a_sweeper_that_looked_all_the_time_takes_the_run_at_once(
    store: Store, settings: Settings, claimed: ledger.Claim
) -> None:
    patience = Patience(settings)
    assert sweep_once(store, settings, patience).requeued == [claimed.run.id]


def test_after_a_time_in_which_nobody_looked_a_live_worker_keeps_its_run(
    store: Store, settings: Settings, claimed: ledger.Claim
) -> None:
    patience = _asleep(store, settings)
    assert sweep_once(store, settings, patience) == ledger.Swept()
    with store.writing() as session:
        assert ledger.heartbeat(session, claimed.run.id, fence=claimed.fence, lease_s=15)
    _grace_is_over(store, patience)
    assert sweep_once(store, settings, patience) == ledger.Swept()


def test_after_a_time_in_which_nobody_looked_a_dead_worker_loses_its_run_a_little_later(
    store: Store, settings: Settings, claimed: ledger.Claim
) -> None:
    patience = _asleep(store, settings)
    assert sweep_once(store, settings, patience) == ledger.Swept()
    _grace_is_over(store, patience)
    assert sweep_once(store, settings, patience).requeued == [claimed.run.id]


def test_leases_are_judged_although_every_look_is_late(settings: Settings) -> None:
    patience = Patience(settings)
    looks = [patience.may_judge(_NOON + place * settings.lease_s * _S) for place in range(6)]
    assert looks == [True, False, True, False, True, False]


def test_a_look_in_time_is_never_held_back(settings: Settings) -> None:
    patience = Patience(settings)
    assert all(patience.may_judge(_NOON + place * settings.sweep_s * _S) for place in range(20))


def _asleep(store: Store, settings: Settings) -> Patience:
    patience = Patience(settings)
    with store.reading() as session:
        patience.looked_at = now_of(session) - settings.lease_s * _S
    return patience


def _grace_is_over(store: Store, patience: Patience) -> None:
    with store.reading() as session:
        assert patience.until is not None
        assert patience.until > now_of(session)
        patience.until = patience.looked_at = now_of(session)
