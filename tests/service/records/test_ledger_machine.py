"""Whatever happens in whatever order: every accepted run ends once, and nobody changes it who does not own it."""

from __future__ import annotations

import datetime
import itertools
import shutil
import tempfile
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    invariant,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import select, update

from api_schema.problem import Problem
from service.records import accounts, jobs, ledger, runs
from service.records.errors import LostLease, NotFound, NotPossibleNow
from service.records.store import Store, now_of
from service.records.tables import ENDED, Plan, Run

_PROBLEM = Problem(type="/problems/test", title="Test", status=500, code="test")
_HOUR = datetime.timedelta(hours=1)


class Ledger(RuleBasedStateMachine):
    """Two accounts, any number of workers, a clock that can be moved past leases and deadlines."""

    template: ClassVar[Path]
    waiting = Bundle("runs")
    claims = Bundle("claims")

    def __init__(self) -> None:
        super().__init__()
        self.directory = Path(tempfile.mkdtemp(prefix="lapwise-ledger-"))
        shutil.copy(self.template, self.directory / "lapwise.db")
        self.store = Store(f"sqlite:///{self.directory / 'lapwise.db'}", pool_size=1)
        with self.store.writing() as session:
            made = [
                accounts.create_account(session, name=f"Example {number}", kind="contractor")
                for number in (1, 2)
            ]
            self.accounts = [account.id for account in made]
            self.jobs = {
                account.id: jobs.create_job(session, account.id, {"reference": "PX-014"}).id
                for account in made
            }
        self.finished: dict[str, int] = {}
        self.fences: dict[str, int] = {}
        self.ends: dict[str, str] = {}
        self.workers = itertools.count(1)

    def teardown(self) -> None:
        self.store.close()
        shutil.rmtree(self.directory)

    @rule(target=waiting, account=st.sampled_from([0, 1]), attempts=st.integers(1, 3))
    def accept(self, account: int, attempts: int) -> tuple[str, str]:
        owner = self.accounts[account]
        with self.store.writing() as session:
            run = runs.queue_plan(session, owner, self.jobs[owner], 1, max_attempts=attempts)
        return owner, run.id

    @rule(target=claims, run=waiting)
    def claim(self, run: tuple[str, str]) -> ledger.Claim | None:
        with self.store.writing() as session:
            return ledger.claim(session, run[1], worker=f"worker-{next(self.workers)}", lease_s=60)

    @rule(claim=claims, plan=st.integers(0, 9))
    def finish(self, claim: ledger.Claim | None, plan: int) -> None:
        if claim is None:
            return
        try:
            with self.store.writing() as session:
                ledger.finish_plan(session, claim, plan={"n": plan}, drawings={})
        except LostLease:
            return
        assert claim.run.id not in self.finished, "finished twice"
        self.finished[claim.run.id] = plan

    @rule(claim=claims, for_good=st.booleans())
    def fail(self, claim: ledger.Claim | None, *, for_good: bool) -> None:
        if claim is None:
            return
        try:
            with self.store.writing() as session:
                if for_good:
                    ledger.fail(session, claim.run.id, fence=claim.fence, problem=_PROBLEM)
                else:
                    ledger.give_back(
                        session, claim.run.id, fence=claim.fence, problem=_PROBLEM, retry_delay_s=0
                    )
        except LostLease:
            pass

    @rule(claim=claims)
    def beat(self, claim: ledger.Claim | None) -> None:
        if claim is not None:
            with self.store.writing() as session:
                held = ledger.heartbeat(session, claim.run.id, fence=claim.fence, lease_s=60)
                row = session.scalars(select(Run).where(Run.id == claim.run.id)).one()
                assert held == (row.fence == claim.fence and row.state == "running")

    @rule(run=waiting)
    def lease_runs_out(self, run: tuple[str, str]) -> None:
        with self.store.writing() as session:
            past = now_of(session) - _HOUR
            session.execute(
                update(Run).where(Run.id == run[1], Run.state == "running").values(lease_until=past)
            )

    @rule(run=waiting)
    def deadline_passes(self, run: tuple[str, str]) -> None:
        with self.store.writing() as session:
            session.execute(update(Run).where(Run.id == run[1]).values(deadline_at=now_of(session) - _HOUR))

    @rule(run=waiting)
    def cancel(self, run: tuple[str, str]) -> None:
        try:
            with self.store.writing() as session:
                runs.cancel_run(session, *run)
        except NotPossibleNow:
            pass

    @rule(run=waiting)
    def a_stranger_sees_nothing(self, run: tuple[str, str]) -> None:
        stranger = next(account for account in self.accounts if account != run[0])
        with self.store.writing() as session:
            for ask in (runs.get_run, runs.get_plan, runs.cancel_run, runs.retry_run):
                with pytest.raises(NotFound):
                    ask(session, stranger, run[1])

    @rule()
    def sweep(self) -> None:
        with self.store.writing() as session:
            ledger.sweep(session, retry_delay_s=0, redispatch_s=3600)

    @rule(ahead=st.integers(1, 4))
    def dispatch(self, ahead: int) -> None:
        with self.store.writing() as session:
            chosen = ledger.dispatch(session, kind="plan", ahead=ahead)
            assert len(chosen) == len(set(chosen)) <= max(ahead, self._running(session))

    @invariant()
    def the_books_are_right(self) -> None:
        with self.store.reading() as session:
            rows = session.scalars(select(Run)).all()
            plans = {plan.run_id: plan.body["n"] for plan in session.scalars(select(Plan))}
        assert plans == self.finished
        for row in rows:
            assert row.attempt <= row.max_attempts
            assert row.fence >= self.fences.get(row.id, 0), "the fence went back"
            assert (row.state == "ready") == (row.id in plans)
            assert (row.finished_at is not None) == (row.state in ENDED)
            assert row.id not in self.ends or self.ends[row.id] == row.state, "an end was changed"
            self.fences[row.id] = row.fence
            if row.state in ENDED:
                self.ends[row.id] = row.state

    def _running(self, session: Any) -> int:
        return len(session.scalars(select(Run.id).where(Run.state == "running")).all())


def test_every_accepted_run_ends_once_whatever_happens(sqlite_template: Path) -> None:
    Ledger.template = sqlite_template
    run_state_machine_as_test(
        Ledger, settings=settings(max_examples=15, stateful_step_count=40, deadline=None)
    )
