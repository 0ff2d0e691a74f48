"""Fan tests: readings in, what they mean out, and what the account learnt from them."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from api_schema.fields import identifier
from api_schema.pressure_test import PressureTestInput, faults_in_test
from api_schema.problem import Fault
from api_schema.tested import HistoryEntry, PressureTestSummary, StoredPressureTest
from service.api.editing import check_match, etag_of, storable
from service.api.links import address
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Media, Resource
from service.api.paging import PAGE_PARAMETERS, page_of, whole_list
from service.api.plans import RETRY_AFTER_S
from service.api.problems import Refusal, bad_input
from service.api.running import answer_of, standing
from service.records import documents, runs, tables
from service.records import pressure_tests as records
from service.records.errors import NotFound
from service.records.tables import ENDED

pressure_tests = Resource(
    "pressure_tests",
    "Fan tests",
    "Readings of a fan test in; flow, air changes and leakage areas with 95 % intervals and a validity screen out. "
    "What a result is worth in law is for the local code and whoever is licensed to test there to say.",
)

TEST: dict[str, Any] = {
    "reference": "PT-007",
    "method": "iso_9972",
    "building": {"volume_m3": 412.0, "envelope_area_m2": 386.0},
    "target": {"n50_per_h": 0.6},
    "directions": [
        {
            "direction": "depressurisation",
            "zero_flow_before_pa": [-1.2],
            "zero_flow_after_pa": [-0.8],
            "indoor_c": 21.0,
            "outdoor_c": 5.0,
            "readings": [
                {"pressure_pa": -61.0, "flow_m3_h": 287.0},
                {"pressure_pa": -51.0, "flow_m3_h": 253.0},
                {"pressure_pa": -41.0, "flow_m3_h": 218.0},
                {"pressure_pa": -31.0, "flow_m3_h": 181.0},
                {"pressure_pa": -21.0, "flow_m3_h": 138.0},
                {"pressure_pa": -11.0, "flow_m3_h": 88.0},
            ],
        }
    ],
    "barometer_pa": 100900,
    "wind_m_s": 2.0,
}
"""A test that works, for the API reference. Its readings are invented."""


def _links(row: tables.PressureTest) -> dict[str, str]:
    here = address(f"/v1/pressure-tests/{row.id}")
    links = {"self": here}
    if row.result is not None:
        links["csv"] = f"{here}.csv"
    if row.job_id is not None:
        links["job"] = address(f"/v1/jobs/{row.job_id}")
        links["leaks"] = address(f"/v1/jobs/{row.job_id}/leaks")
    return links


def _etag(row: tables.PressureTest, run: tables.Run) -> str:
    return etag_of("pressure test", row.id, row.version, run.state)


def _few_words(row: tables.PressureTest, run: tables.Run) -> dict[str, Any]:
    return {
        "id": row.id,
        "reference": row.reference,
        "job": row.job_id,
        **standing(run),
        "created_at": row.created_at.isoformat(),
        "links": _links(row),
    }


def _answer(asked: Asked, test_id: str, *, made: bool = False) -> Answer:
    account_id = asked.caller.account_id

    def show(session: Session, run: tables.Run) -> Answer:
        row = records.get_test(session, account_id, test_id)
        paper = documents.document_of(session, account_id, kind="test_report", subject_id=test_id)
        body = {
            **_few_words(row, run),
            "problem": run.problem,
            "test": row.body,
            "result": row.result,
            "prediction": row.prediction,
            "document": None if paper is None else paper.id,
        }
        if paper is not None:
            body["links"]["document"] = address(f"/v1/documents/{paper.id}")
        return Answer(body, etag=etag_of(_etag(row, run), body["document"]))

    run = runs.get_run(asked.session, account_id, records.get_test(asked.session, account_id, test_id).run_id)
    return answer_of(asked, run, show, made=address(f"/v1/pressure-tests/{test_id}") if made else None)


@pressure_tests.operation(
    "POST",
    "/v1/pressure-tests",
    "Send a fan test",
    scope="write",
    takes=PressureTestInput,
    example=TEST,
    faults=faults_in_test,
    gives={201: StoredPressureTest, 202: StoredPressureTest},
    waits=True,
    etag=True,
)
def send_pressure_test(asked: Asked) -> Answer:
    """Stores the readings and analyses them; its report is rendered as a PDF.

    With `job` the sizes and the target that the test does not bring come from the job, or from its building; its
    leaks are noted on the job; and the flow is set beside what the budget of the job's plan had expected. What is
    merely doubtful in the readings is in the result's checks; what makes them useless is refused at once.
    """
    body = storable(asked.body)
    try:
        row = records.create_test(asked.session, asked.caller.account_id, body, traceparent=asked.traceparent)
    except NotFound:
        raise bad_input(
            (Fault("/job", "is not the name of a job of yours; leave it out, or read it off the job."),)
        ) from None
    return _answer(asked, row.id, made=True)


@pressure_tests.operation(
    "GET",
    "/v1/pressure-tests",
    "List the fan tests",
    scope="read",
    gives={200: ListOf(PressureTestSummary)},
    query={**PAGE_PARAMETERS, "job": identifier("Only tests of this job.", example="job_4Zk0c7tQm2")},
)
def list_pressure_tests(asked: Asked) -> Answer:
    """Lists your fan tests, newest first, with how far they are."""
    account_id = asked.caller.account_id
    return page_of(
        asked.query,
        lambda limit, after: records.list_tests(
            asked.session, account_id, limit=limit, after=after, job_id=asked.query.get("job")
        ),
        lambda row: _few_words(row, runs.get_run(asked.session, account_id, row.run_id)),
    )


@pressure_tests.operation(
    "GET",
    "/v1/pressure-tests/{test}",
    "Read a fan test",
    scope="read",
    gives={200: StoredPressureTest},
    may_answer=(404,),
    waits=True,
    etag=True,
)
def read_pressure_test(asked: Asked, test: str) -> Answer:
    """Gives the readings, and once `status` is ready the result with its intervals, points and checks.

    While it is not final the answer carries `Retry-After`; `Prefer: wait=N` holds it. `document` names the report
    once that is rendered.
    """
    return _answer(asked, test)


@pressure_tests.operation(
    "GET",
    "/v1/pressure-tests/{test}.csv",
    "Read a fan test as a table",
    scope="read",
    gives={200: Media("text/csv", "The result as comma-separated lines (RFC 4180), for a spreadsheet.")},
    may_answer=(404, 409),
    etag=True,
)
def read_pressure_test_table(asked: Asked, test: str) -> Answer:
    """Gives figures, points and checks as comma-separated lines. 409 with `Retry-After` while it is analysed."""
    row = records.get_test(asked.session, asked.caller.account_id, test)
    run = runs.get_run(asked.session, asked.caller.account_id, row.run_id)
    if row.table_csv is None:
        if run.state in ENDED:
            raise Refusal("test_not_ready", f"The analysis is {run.state}. Send the test again.")
        raise Refusal("test_not_ready", headers={"Retry-After": str(RETRY_AFTER_S)})
    return Answer(
        row.table_csv.encode(),
        media_type="text/csv; charset=utf-8",
        etag=etag_of("table", row.id, row.version),
        headers={"Content-Disposition": f'attachment; filename="{_table_name(row)}"'},
    )


@pressure_tests.operation(
    "DELETE",
    "/v1/pressure-tests/{test}",
    "Remove a fan test",
    scope="write",
    gives={204: None},
    may_answer=(404,),
    edits=True,
)
def remove_pressure_test(asked: Asked, test: str) -> Answer:
    """Removes a test with the leaks that came with it; the account's factor no longer learns from it.

    A report that was rendered stays, as every document does.
    """
    account_id = asked.caller.account_id
    row = records.get_test(asked.session, account_id, test)
    shown = _answer(asked, test)
    check_match(asked.if_match, str(shown.etag))
    records.delete_test(asked.session, account_id, test, if_version=row.version)
    note(asked, "pressure_test.removed", test)
    return Answer(status=204)


@pressure_tests.operation(
    "GET",
    "/v1/leakage-history",
    "List what leakage budgets learn from",
    scope="read",
    gives={200: ListOf(HistoryEntry)},
)
def list_leakage_history(asked: Asked) -> Answer:
    """Lists predicted beside measured flow, newest first: the newest valid test of each planned job.

    Every plan made from now on moves its leakage values toward these: one test by about a third, twenty by nine
    tenths. The factor used stands in each budget.
    """

    def show(row: tables.PressureTest) -> dict[str, Any]:
        return {
            **(row.prediction or {}),
            "id": row.id,
            "job": row.job_id,
            "created_at": row.created_at.isoformat(),
        }

    return whole_list(records.history(asked.session, asked.caller.account_id), show)


def _table_name(row: tables.PressureTest) -> str:
    return documents.safe_name("test", row.reference).removesuffix(".pdf") + ".csv"
