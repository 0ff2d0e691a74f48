"""What was removed long enough ago goes with all that hangs on it, and nothing else does.

A row is written into every table that hangs on a job, found by the tables themselves, so that a new table is either
purged or said to outlive its job.
"""

from __future__ import annotations

import datetime
import itertools
from typing import Any

import pytest
from sqlalchemy import JSON, Boolean, Date, Integer, LargeBinary, Table, func, insert, select, update
from sqlalchemy.orm import Session

from service.records.leaving import export, remove, tables_of_accounts
from service.records.purging import OUTLIVES, due, purge
from service.records.store import Store, now_of
from service.records.tables import Base, Job, Moment, Order, PressureTest, Quote, Run

_numbers = itertools.count(1)
_KEPT: dict[str, int] = {"keep_removed": 30, "keep_issued": 3650}
_STATES = {"quote": "draft", "order_to_supplier": "draft", "run": "ready"}
_FILE = "f" * 64


def _row(session: Session, table: Table, known: dict[str, Any]) -> dict[str, Any]:
    """Writes a row that refers to `known` rows of other tables wherever it can, and gives its values."""
    values: dict[str, Any] = {}
    for column in table.columns:
        key = next(iter(column.foreign_keys), None)
        if key is not None and key.column.table.name in known and key.column.table is not table:
            values[column.name] = known[key.column.table.name][key.column.name]
        elif key is not None or column.name == "deleted_at":
            values[column.name] = None
        elif column.name == "sha256":
            values[column.name] = _FILE
        elif isinstance(column.type, Moment):
            values[column.name] = now_of(session)
        elif isinstance(column.type, Date):
            values[column.name] = now_of(session).date()
        elif isinstance(column.type, JSON):
            values[column.name] = {}
        elif isinstance(column.type, Boolean):
            values[column.name] = True
        elif isinstance(column.type, Integer):
            values[column.name] = next(_numbers)
        elif isinstance(column.type, LargeBinary):
            values[column.name] = b"bytes"
        else:
            values[column.name] = (
                _STATES.get(table.name, "") if column.name == "state" else f"v{next(_numbers)}"
            )
    session.execute(insert(table).values(**values))
    return values


def _everything(store: Store) -> dict[str, Any]:
    """One account with a row in every table; gives the rows by table."""
    known: dict[str, Any] = {}
    with store.writing() as session:
        for table in Base.metadata.sorted_tables:
            known[table.name] = _row(session, table, known)
    return known


def _remove(store: Store, table: type[Job] | type[PressureTest], row_id: str, *, days_ago: int) -> None:
    with store.writing() as session:
        moment = now_of(session) - datetime.timedelta(days=days_ago)
        session.execute(update(table).where(table.id == row_id).values(deleted_at=moment))


def _counts(store: Store) -> dict[str, int]:
    with store.reading() as session:
        return {
            table.name: session.scalar(select(func.count()).select_from(table)) or 0
            for table in Base.metadata.sorted_tables
        }


def _hangs_on_a_job() -> set[str]:
    reached = {"job"}
    for table in Base.metadata.sorted_tables:
        for key in table.foreign_keys:
            if key.column.table.name in reached and f"{table.name}.{key.parent.name}" not in OUTLIVES:
                reached.add(table.name)
    return reached


def test_a_removed_job_goes_with_everything_that_hangs_on_it_and_nothing_of_another(store: Store) -> None:
    mine, _other = _everything(store), _everything(store)
    _remove(store, Job, mine["job"]["id"], days_ago=31)
    before = _counts(store)
    assert set(before.values()) == {2}
    with store.writing() as session:
        done = purge(session, **_KEPT)
    gone = _hangs_on_a_job() | {"blob"}
    assert {"plan", "drawing", "document", "quote_basis", "finished_job", "leak", "recorded_hours"} <= gone
    assert _counts(store) == {name: count - (name in gone) for name, count in before.items()}
    assert done.jobs == (mine["job"]["id"],)
    assert done.rows == dict.fromkeys(sorted(gone), 1)
    with store.writing() as session:
        assert purge(session, **_KEPT).rows == {}


def test_offcuts_and_batches_outlive_the_job_without_its_name(store: Store) -> None:
    mine = _everything(store)
    _remove(store, Job, mine["job"]["id"], days_ago=31)
    with store.writing() as session:
        purge(session, **_KEPT)
    with store.reading() as session:
        for place in OUTLIVES:
            table, column = place.split(".")
            assert session.scalars(select(Base.metadata.tables[table].c[column])).all() == [None], place


def test_a_file_that_something_else_is_kept_as_stays(store: Store) -> None:
    mine = _everything(store)
    with store.writing() as session:  # a model of no job with the same bytes as the job's document
        known = {"account": mine["account"]}
        known["run"] = _row(session, Base.metadata.tables["run"], known)
        _row(session, Base.metadata.tables["model_file"], known)
    _remove(store, Job, mine["job"]["id"], days_ago=31)
    with store.writing() as session:
        assert "blob" not in purge(session, **_KEPT).rows
    assert _counts(store)["blob"] == 1


@pytest.mark.parametrize(
    ("state_of", "days_ago", "goes"),
    [
        (None, 29, False), (None, 31, True),
        (Quote, 31, False), (Quote, 3649, False), (Quote, 3651, True),
        (Order, 31, False), (Order, 3651, True),
        (Run, 3651, False),
    ],
)  # fmt: skip
def test_a_job_is_kept_as_long_as_its_papers_ask_for(
    store: Store, state_of: Any, days_ago: int, goes: bool
) -> None:
    mine = _everything(store)
    _remove(store, Job, mine["job"]["id"], days_ago=days_ago)
    if state_of is not None:
        with store.writing() as session:
            session.execute(update(state_of).values(state="running" if state_of is Run else "issued"))
    with store.reading() as session:
        assert due(session, **_KEPT) == ([mine["job"]["id"]] if goes else [], [])
    with store.writing() as session:
        purge(session, **_KEPT)
    assert (_counts(store)["job"] == 0) == goes


def test_a_job_that_was_not_removed_is_never_purged(store: Store) -> None:
    _everything(store)
    before = _counts(store)
    with store.writing() as session:
        assert purge(session, keep_removed=0, keep_issued=0).rows == {}
    assert _counts(store) == before


def test_a_removed_fan_test_goes_alone_with_its_run_and_its_report(store: Store) -> None:
    mine = _everything(store)
    with store.writing() as session:
        test = mine["pressure_test"]["id"]
        known = {"account": mine["account"], "job": mine["job"]}
        run = _row(session, Base.metadata.tables["run"], known)["id"]
        session.execute(update(PressureTest).values(run_id=run))
        report = _row(session, Base.metadata.tables["document"], known)["id"]
        documents = Base.metadata.tables["document"]
        session.execute(update(documents).where(documents.c.id == report).values(subject_id=test))
    _remove(store, PressureTest, test, days_ago=31)
    before = _counts(store)
    with store.writing() as session:
        done = purge(session, **_KEPT)
    assert (done.jobs, done.tests) == ((), (test,))
    gone = {"pressure_test", "leak", "run", "document"}
    assert {name for name, count in before.items() if _counts(store)[name] != count} == gone
    with store.reading() as session:
        assert session.get(Run, run) is None


def test_an_export_and_a_removal_cover_every_table_of_an_account(store: Store, tmp_path: Any) -> None:
    mine, other = _everything(store), _everything(store)
    of_nobody = {"account", "presence"}
    names = {table.name for table in tables_of_accounts()}
    assert names == set(Base.metadata.tables) - of_nobody
    with (tmp_path / "all.zip").open("wb") as file, store.reading() as session:
        assert export(session, mine["account"]["id"], file) == len(names - {"blob"})
    with store.writing() as session:
        assert remove(session, mine["account"]["id"]) == dict.fromkeys(names, 1)
    assert _counts(store) == dict.fromkeys(names, 1) | {"account": 1, "presence": 2}
    assert other["account"]["id"] != mine["account"]["id"]
