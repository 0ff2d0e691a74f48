"""The ledger: one owner at a time, one end for each run, turns by account."""

import datetime
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import select, update

from api_schema.problem import Problem
from service.records import accounts, ledger, operations, runs
from service.records.errors import LostLease, NotPossibleNow
from service.records.store import Store, now_of
from service.records.tables import BATCH, Account, Drawing, Plan, Run

Queue = Callable[..., Run]
Claim = Callable[..., ledger.Claim | None]
_PROBLEM = Problem(type="/problems/test", title="Test", status=500, code="test")
_HOUR = datetime.timedelta(hours=1)


def _lease_ran_out(store: Store, run: Run) -> None:
    with store.writing() as session:
        session.execute(update(Run).where(Run.id == run.id).values(lease_until=now_of(session) - _HOUR))


def _sweep(store: Store) -> ledger.Swept:
    with store.writing() as session:
        return ledger.sweep(session, retry_delay_s=0, redispatch_s=30)


def _again(store: Store, run: Run) -> Run:
    with store.reading() as session:
        return session.scalars(select(Run).where(Run.id == run.id)).one()


def test_of_many_workers_one_gets_the_run(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    for _ in range(5):
        run = queued(account)
        with ThreadPoolExecutor(8) as pool:
            claims = list(pool.map(lambda name, run=run: claim(run, f"worker-{name}"), range(8)))
        assert sum(claimed is not None for claimed in claims) == 1


def test_a_run_is_not_to_be_had_while_its_lease_holds_and_is_after(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    run = queued(account)
    first = claim(run)
    assert first is not None
    assert claim(run, "worker-b") is None
    _lease_ran_out(store, run)
    second = claim(run, "worker-b")
    assert second is not None
    assert second.fence > first.fence
    assert second.run.attempt == 2


def test_a_worker_that_lost_its_run_can_change_nothing(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    run = queued(account)
    slow = claim(run)
    _lease_ran_out(store, run)
    quick = claim(run, "worker-b")
    assert slow is not None
    assert quick is not None
    with store.writing() as session:
        assert not ledger.heartbeat(session, run.id, fence=slow.fence, lease_s=20)
    with store.writing() as session:
        ledger.finish_plan(session, quick, plan={"by": "quick"}, drawings={"hall": b"<svg/>"})
    for late in (
        lambda session: ledger.finish_plan(session, slow, plan={"by": "slow"}, drawings={}),
        lambda session: ledger.fail(session, run.id, fence=slow.fence, problem=_PROBLEM),
        lambda session: ledger.give_back(
            session, run.id, fence=slow.fence, problem=_PROBLEM, retry_delay_s=1
        ),
        lambda session: ledger.finish(session, run.id, fence=quick.fence),
    ):
        with pytest.raises(LostLease), store.writing() as session:
            late(session)
    with store.reading() as session:
        assert runs.get_plan(session, account.id, run.id) == {"by": "quick"}
        assert runs.get_drawing(session, account.id, run.id, "hall") == b"<svg/>"
        assert len(session.scalars(select(Plan)).all()) == len(session.scalars(select(Drawing)).all()) == 1


def test_a_heartbeat_extends_the_lease(store: Store, account: Account, queued: Queue, claim: Claim) -> None:
    run = queued(account)
    claimed = claim(run, lease_s=1)
    assert claimed is not None
    before = _again(store, run).lease_until
    with store.writing() as session:
        assert ledger.heartbeat(session, run.id, fence=claimed.fence, lease_s=60, progress=40)
    after = _again(store, run)
    assert before is not None
    assert after.lease_until is not None
    assert after.lease_until > before + datetime.timedelta(seconds=50)
    assert after.progress == 40


def test_a_run_whose_workers_die_is_put_aside_after_its_last_attempt(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    run = queued(account, max_attempts=2)
    for attempt in (1, 2):
        claimed = claim(run)
        assert claimed is not None
        assert claimed.run.attempt == attempt
        _lease_ran_out(store, run)
        swept = _sweep(store)
        assert (swept.requeued, swept.quarantined) == (([run.id], []) if attempt == 1 else ([], [run.id]))
    ended = _again(store, run)
    assert ended.state == "failed"
    assert ended.problem is not None
    assert ended.problem["code"] == "run_quarantined"
    assert claim(run) is None
    assert _sweep(store) == ledger.Swept()


def test_an_error_that_may_pass_is_tried_again_later_and_then_fails(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    run = queued(account, max_attempts=2)
    first = claim(run)
    assert first is not None
    with store.writing() as session:
        state = ledger.give_back(session, run.id, fence=first.fence, problem=_PROBLEM, retry_delay_s=3600)
    assert state == "queued"
    assert claim(run) is None  # its time has not come
    with store.writing() as session:
        assert not ledger.may_dispatch(session, kind="plan", ahead=5)
        session.execute(update(Run).values(not_before=now_of(session)))
    second = claim(run)
    assert second is not None
    with store.writing() as session:
        assert (
            ledger.give_back(session, run.id, fence=second.fence, problem=_PROBLEM, retry_delay_s=0)
            == "failed"
        )
    assert _again(store, run).problem["code"] == "test"  # type: ignore[index]


def test_every_run_ends_by_its_deadline(store: Store, account: Account, queued: Queue, claim: Claim) -> None:
    waiting, running = queued(account), queued(account)
    claimed = claim(running)
    assert claimed is not None
    with store.writing() as session:
        session.execute(update(Run).values(deadline_at=now_of(session)))
    assert sorted(_sweep(store).overdue) == sorted([waiting.id, running.id])
    for run in (waiting, running):
        assert _again(store, run).problem["code"] == "run_overdue"  # type: ignore[index]
    with pytest.raises(LostLease), store.writing() as session:
        ledger.finish(session, running.id, fence=claimed.fence)


def test_a_cancelled_run_is_given_up_and_its_result_thrown_away(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    run = queued(account)
    claimed = claim(run)
    assert claimed is not None
    with store.writing() as session:
        runs.cancel_run(session, account.id, run.id)
    with pytest.raises(LostLease), store.writing() as session:
        ledger.finish_plan(session, claimed, plan={}, drawings={})
    assert _again(store, run).state == "cancelled"


def test_a_ready_run_cannot_be_cancelled(store: Store, account: Account, queued: Queue, claim: Claim) -> None:
    run = queued(account)
    claimed = claim(run)
    assert claimed is not None
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
    with pytest.raises(NotPossibleNow) as refusal, store.writing() as session:
        runs.cancel_run(session, account.id, run.id)
    assert refusal.value.code == "run_ended"


def test_a_lost_announcement_is_made_again(store: Store, account: Account, queued: Queue) -> None:
    run = queued(account)
    with store.writing() as session:
        assert ledger.dispatch(session, kind="plan", ahead=5) == [run.id]
    with store.writing() as session:
        assert ledger.dispatch(session, kind="plan", ahead=5) == []
        session.execute(update(Run).values(dispatched_at=now_of(session) - _HOUR))
    assert _sweep(store).announced_again == [run.id]
    with store.writing() as session:
        assert ledger.dispatch(session, kind="plan", ahead=5) == [run.id]


def test_no_more_is_announced_than_there_is_room_for(store: Store, account: Account, queued: Queue) -> None:
    for _ in range(7):
        queued(account)
    counts = []
    for _ in range(3):
        with store.writing() as session:
            assert ledger.may_dispatch(session, kind="plan", ahead=4) == (not counts)
            counts.append(len(ledger.dispatch(session, kind="plan", ahead=4)))
    assert counts == [4, 0, 0]


def test_one_run_of_a_quiet_account_passes_the_thousand_of_a_busy_one(
    store: Store, account: Account, queued: Queue
) -> None:
    with store.writing() as session:
        quiet = accounts.create_account(session, name="Quiet Example", kind="contractor")
    first = queued(account)
    with store.writing() as session:
        for _ in range(300):
            runs.queue_plan(session, account.id, first.job_id, 1)
    with store.writing() as session:
        ledger.dispatch(session, kind="plan", ahead=4)  # the busy one has the workers to itself so far
    single = queued(quiet)
    with store.writing() as session:
        assert ledger.dispatch(session, kind="plan", ahead=5) == [single.id]


def test_a_batch_waits_behind_what_somebody_waits_for(store: Store, account: Account, queued: Queue) -> None:
    with store.writing() as session:
        other = accounts.create_account(session, name="Other Example", kind="contractor")
    batch = [queued(account, priority=BATCH).id for _ in range(5)]
    interactive = [queued(other).id for _ in range(3)]
    with store.writing() as session:
        first = ledger.dispatch(session, kind="plan", ahead=4)
    assert set(first[:3]) == set(interactive)
    assert first[3] == batch[0]


def test_counts_and_age_tell_what_goes_on(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    run, _ = queued(account), queued(account)
    claim(run)
    with store.writing() as session:
        session.execute(update(Run).where(Run.state == "queued").values(not_before=now_of(session) - _HOUR))
    with store.reading() as session:
        assert operations.counts_by_state(session) == {("plan", "queued"): 1, ("plan", "running"): 1}
        assert operations.queue_age_s(session) >= 3600


def test_the_relay_is_behind_where_runs_wait_and_none_is_announced_and_not_where_the_queue_is_long(
    store: Store, account: Account, queued: Queue, claim: Claim
) -> None:
    def lag_s() -> float:
        with store.reading() as session:
            return operations.relay_lag_s(session)

    def ago(moments: dict[str, datetime.timedelta], run: Run) -> None:
        with store.writing() as session:
            now = now_of(session)
            values = {name: now - past for name, past in moments.items()}
            session.execute(update(Run).where(Run.id == run.id).values(**values))

    assert lag_s() == 0
    announced, waiting = queued(account), queued(account)
    ago({"not_before": _HOUR}, waiting)
    ago({"not_before": _HOUR}, announced)
    assert lag_s() >= 3600
    with store.writing() as session:
        ledger.dispatch(session, kind="plan", ahead=1)
    assert lag_s() == 0  # however long the other has waited: it waits for a worker
    claim(announced)
    assert lag_s() < 600  # nothing is announced now, but something was a moment ago
    ago({"dispatched_at": _HOUR / 2}, announced)
    assert 1800 <= lag_s() < 3600
