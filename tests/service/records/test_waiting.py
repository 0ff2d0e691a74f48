"""What the relay asks all the time: answered by the moment, from one connection that holds nothing up."""

from collections.abc import Callable

import pytest
from sqlalchemy.exc import SQLAlchemyError

from service.records import accounts, ledger
from service.records.store import Store
from service.records.tables import Account, Run
from service.records.waiting import WaitingKinds

Queue = Callable[..., Run]
_KINDS = ("plan", "render", "read")


def test_a_held_connection_sees_what_others_commit_between_two_looks(
    store: Store, account: Account, queued: Queue
) -> None:
    with store.looking() as connection:
        waiting = WaitingKinds(connection, _KINDS)
        assert waiting.look() == []
        run = queued(account)
        assert waiting.look() == ["plan"]
        with store.writing() as session:
            assert ledger.dispatch(session, kind="plan", ahead=4) == [run.id]
        assert waiting.look() == []
        with store.writing() as session:
            ledger.not_announced(session, [run.id])
        assert waiting.look() == ["plan"]


def test_a_run_whose_second_attempt_is_not_due_counts_so_that_none_is_overlooked(
    store: Store, account: Account, queued: Queue, claim: Callable[..., ledger.Claim]
) -> None:
    run = queued(account)
    with store.writing() as session:
        ledger.dispatch(session, kind="plan", ahead=4)
    claimed = claim(run)
    with store.looking() as connection:
        waiting = WaitingKinds(connection, _KINDS)
        assert waiting.look() == []
        with store.writing() as session:
            ledger.give_back(
                session, run.id, fence=claimed.fence, problem=ledger._OVERDUE, retry_delay_s=3600
            )
        assert waiting.look() == ["plan"]
        with store.writing() as session:
            assert not ledger.may_dispatch(session, kind="plan", ahead=4)


def test_a_held_connection_keeps_no_moment_of_the_past(sqlite_store: Store) -> None:
    with sqlite_store.looking() as connection:
        assert WaitingKinds(connection, _KINDS).look() == []
        with sqlite_store.writing() as session:
            accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
        with sqlite_store.engine.connect() as other:
            other.execution_options(lapwise_looks=True)
            busy, *_ = other.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)").one()
        assert busy == 0  # a reader of an older moment would keep the log from being written back


@pytest.mark.parametrize("store", ["postgresql"], indirect=True)
def test_where_the_connection_dies_the_look_fails_and_the_next_block_has_a_new_one(
    store: Store, account: Account, queued: Queue
) -> None:
    queued(account)
    with store.looking() as connection:
        waiting = WaitingKinds(connection, _KINDS)
        assert waiting.look() == ["plan"]
        held = connection.exec_driver_sql("SELECT pg_backend_pid()").scalar_one()
        with store.writing() as session:
            session.connection().exec_driver_sql(f"SELECT pg_terminate_backend({held}, 5000)")
        with pytest.raises(SQLAlchemyError):
            waiting.look()
    with store.looking() as connection:
        assert WaitingKinds(connection, _KINDS).look() == ["plan"]
