"""Idempotency-Key: one effect, one answer."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import func, select, update

from service.records import accounts, jobs, repeats
from service.records.errors import KeyReused, StillRunning
from service.records.store import Store, now_of
from service.records.tables import Account, Job, Repeat

_SCOPE = "POST /v1/jobs"


def _once(store: Store, account: Account, key: str, fingerprint: str = "a" * 64) -> repeats.Answer:
    with store.writing() as session:
        before = repeats.begin_once(session, account.id, scope=_SCOPE, key=key, fingerprint=fingerprint)
        if before is not None:
            return before
        job = jobs.create_job(session, account.id, {"reference": "PX-014"})
        answer = repeats.Answer(202, {"Location": f"/v1/jobs/{job.id}"}, job.id)
        repeats.keep_answer(session, account.id, scope=_SCOPE, key=key, answer=answer)
        return answer


def test_a_key_sent_by_many_at_once_makes_one_job_and_one_answer(store: Store, account: Account) -> None:
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: _once(store, account, "k-1"), range(24)))
    assert len({answer.body for answer in answers}) == 1
    assert {answer.status for answer in answers} == {202}
    with store.reading() as session:
        assert session.scalar(select(func.count()).select_from(Job)) == 1


def test_the_same_key_with_another_body_is_refused(store: Store, account: Account) -> None:
    _once(store, account, "k-1")
    with pytest.raises(KeyReused):
        _once(store, account, "k-1", fingerprint="b" * 64)


def test_a_request_that_was_rolled_back_leaves_no_trace(store: Store, account: Account) -> None:
    with pytest.raises(ZeroDivisionError), store.writing() as session:  # noqa: PT012
        assert not repeats.begin_once(session, account.id, scope=_SCOPE, key="k-1", fingerprint="b" * 64)
        1 / 0  # noqa: B018
    assert _once(store, account, "k-1").status == 202


def test_keys_of_other_accounts_and_routes_are_other_keys(store: Store, account: Account) -> None:
    with store.writing() as session:
        other = accounts.create_account(session, name="Other Example", kind="contractor")
    first = _once(store, account, "k-1")
    assert _once(store, other, "k-1").body != first.body
    with store.writing() as session:
        scope = "POST /v1/batches"
        assert repeats.begin_once(session, account.id, scope=scope, key="k-1", fingerprint="c" * 64) is None


def test_a_key_whose_first_request_has_no_answer_yet_is_told_to_come_again(
    store: Store, account: Account
) -> None:
    with store.writing() as session:
        repeats.begin_once(session, account.id, scope=_SCOPE, key="k-1", fingerprint="a" * 64)
    with pytest.raises(StillRunning):
        _once(store, account, "k-1")


def test_a_key_is_free_again_after_its_day(store: Store, account: Account) -> None:
    first = _once(store, account, "k-1")
    with store.writing() as session:
        session.execute(update(Repeat).values(expires_at=now_of(session)))
    assert _once(store, account, "k-1", fingerprint="b" * 64).body != first.body
    with store.writing() as session:
        session.execute(update(Repeat).values(expires_at=now_of(session)))
        repeats.forget_old(session)
        assert session.scalar(select(func.count()).select_from(Repeat)) == 0
