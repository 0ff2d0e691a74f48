"""Jobs, their revisions and lists."""

import pytest

from service.records import accounts, jobs, runs
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.store import Store
from service.records.tables import Account


def _body(reference: str = "PX-014", **more: object) -> dict[str, object]:
    return {"reference": reference, "title": "Plot 14", **more}


def test_a_changed_job_gets_a_new_revision_and_the_old_one_stays(store: Store, account: Account) -> None:
    with store.writing() as session:
        job = jobs.create_job(session, account.id, _body())
    with store.writing() as session:
        changed = jobs.revise_job(session, account.id, job.id, _body("PX-015"), if_version=1)
        assert (changed.revision, changed.version, changed.reference) == (2, 2, "PX-015")
    with store.writing() as session, pytest.raises(Stale):
        jobs.revise_job(session, account.id, job.id, _body("PX-016"), if_version=1)
    with store.reading() as session:
        assert jobs.job_body(session, account.id, job.id, 1)["reference"] == "PX-014"
        assert jobs.job_body(session, account.id, job.id, 2)["reference"] == "PX-015"


def test_other_peoples_jobs_are_not_there(store: Store, account: Account) -> None:
    with store.writing() as session:
        job = jobs.create_job(session, account.id, _body())
        run = runs.queue_plan(session, account.id, job.id, 1)
        other = accounts.create_account(session, name="Other Example", kind="contractor")
    with store.writing() as session:
        for ask in (
            lambda: jobs.get_job(session, other.id, job.id),
            lambda: jobs.job_body(session, other.id, job.id, 1),
            lambda: jobs.revise_job(session, other.id, job.id, _body(), if_version=1),
            lambda: jobs.delete_job(session, other.id, job.id, if_version=1),
            lambda: runs.get_run(session, other.id, run.id),
            lambda: runs.cancel_run(session, other.id, run.id),
            lambda: runs.retry_run(session, other.id, run.id),
        ):
            with pytest.raises(NotFound):
                ask()
        assert jobs.list_jobs(session, other.id, limit=10) == []
        assert runs.latest_run(session, other.id, job.id) is None


def test_a_deleted_job_is_gone_from_lists_and_its_revisions_stay(store: Store, account: Account) -> None:
    with store.writing() as session:
        job = jobs.create_job(session, account.id, _body())
    with store.writing() as session, pytest.raises(Stale):
        jobs.delete_job(session, account.id, job.id, if_version=7)
    with store.writing() as session:
        jobs.delete_job(session, account.id, job.id, if_version=1)
    with store.reading() as session:
        assert jobs.list_jobs(session, account.id, limit=10) == []
        assert jobs.job_body(session, account.id, job.id, 1)["title"] == "Plot 14"
        with pytest.raises(NotFound):
            jobs.get_job(session, account.id, job.id)


def test_paging_shows_every_job_once_though_new_ones_come(store: Store, account: Account) -> None:
    with store.writing() as session:
        made = [jobs.create_job(session, account.id, _body(f"J-{number}")).id for number in range(25)]
    seen: list[str] = []
    after = None
    while True:
        with store.writing() as session:
            page = jobs.list_jobs(session, account.id, limit=7, after=after)
            jobs.create_job(session, account.id, _body("newer"))
        if not page:
            break
        seen += [job.id for job in page]
        after = (page[-1].created_at, page[-1].id)
    assert sorted(seen) == sorted(made)
    with store.reading() as session:
        assert [job.id for job in jobs.list_jobs(session, account.id, limit=5, reference="J-3")] == [made[3]]


def test_a_cancelled_plan_can_be_tried_again_and_a_waiting_one_cannot(store: Store, account: Account) -> None:
    with store.writing() as session:
        job = jobs.create_job(session, account.id, _body())
        run = runs.queue_plan(session, account.id, job.id, 1)
    with store.writing() as session, pytest.raises(NotPossibleNow) as refusal:
        runs.retry_run(session, account.id, run.id)
    assert refusal.value.code == "run_not_failed"
    with store.writing() as session:
        runs.cancel_run(session, account.id, run.id)
        assert runs.cancel_run(session, account.id, run.id).state == "cancelled"
        again = runs.retry_run(session, account.id, run.id)
    with store.reading() as session:
        latest = runs.latest_run(session, account.id, job.id)
        assert latest is not None
        assert (latest.id, latest.state, latest.attempt) == (again.id, "queued", 0)


def test_waiting_for_a_run_ends_when_it_ends(store: Store, account: Account) -> None:
    with store.writing() as session:
        job = jobs.create_job(session, account.id, _body())
        run = runs.queue_plan(session, account.id, job.id, 1)
    assert runs.wait_for_run(store, account.id, run.id, seconds=0.05).state == "queued"
    with store.writing() as session:
        runs.cancel_run(session, account.id, run.id)
    assert runs.wait_for_run(store, account.id, run.id, seconds=30).state == "cancelled"
