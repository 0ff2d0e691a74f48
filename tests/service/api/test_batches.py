"""Batches: each job judged alone, counted, listed, and fetched as one table and one file."""

import csv
import io
import zipfile
from collections.abc import Callable
from typing import Any

from sqlalchemy import select

from service.api.examples import JOB
from service.records import batches, documents, jobs
from service.records.store import Store
from service.records.tables import BATCH, Run
from tests.service.api.office import Office

_PROBLEM_JOB = {**JOB, "reference": "PX-BAD", "surfaces": [{"id": "x"}], "junctions": []}
_CROSSED: dict[str, Any] = {
    "reference": "PX-CROSSED",
    "surfaces": [
        {
            "id": "wall",
            "kind": "wall",
            "outline_mm": [[0, 0], [4000, 2400], [4000, 0], [0, 2400]],
            "members": {"direction": "up", "centres_mm": 400},
        }
    ],
}


def _jobs(count: int) -> list[dict[str, Any]]:
    return [{**JOB, "reference": f"PX-{number:03d}"} for number in range(count)]


def test_a_jobs_bad_input_fails_that_job_alone(office: Office) -> None:
    sent = office.post("/v1/batches", {"jobs": [*_jobs(2), _PROBLEM_JOB, _CROSSED, {}]})
    assert sent.status_code == 202
    assert sent.json["counts"] == {
        "queued": 2,
        "running": 0,
        "ready": 0,
        "failed": 0,
        "cancelled": 0,
        "refused": 3,
    }
    items = office.get(sent.json["links"]["items"]).json["items"]
    assert [item["status"] for item in items] == ["queued", "queued", "refused", "refused", "refused"]
    assert [item["reference"] for item in items] == ["PX-000", "PX-001", "PX-BAD", "PX-CROSSED", ""]
    pointers = [[fault["pointer"] for fault in item["problem"]["errors"]] for item in items[2:]]
    assert "/surfaces/0/kind" in pointers[0]
    assert pointers[1] == ["/surfaces/0/outline_mm/0"]
    assert pointers[2] == ["/reference"]
    assert [job["reference"] for job in office.get("/v1/jobs").json["items"]].count("PX-BAD") == 0


def test_the_envelope_is_refused_as_a_whole(office: Office) -> None:
    for body in (
        {},
        {"jobs": []},
        {"jobs": "x"},
        {"jobs": [1]},
        {"jobs": [{}] * 1001},
        {"jobs": [{}], "x": 1},
    ):
        assert office.post("/v1/batches", body).status_code == 422
    assert office.get("/v1/batches").json["items"] == []


def test_a_thousand_jobs_are_taken_and_a_repeat_makes_no_second_batch(office: Office) -> None:
    body = {"reference": "November", "jobs": [{**_CROSSED, "surfaces": []}] * 999 + _jobs(1)}
    first = office.post("/v1/batches", body, Idempotency_Key="once")
    again = office.post("/v1/batches", body, Idempotency_Key="once")
    assert (first.status_code, first.json["total"], first.json["id"]) == (202, 1000, again.json["id"])
    assert len(office.get("/v1/batches").json["items"]) == 1
    seen = []
    address = f"/v1/batches/{first.json['id']}/items?limit=200"
    while address:
        page = office.get(address).json
        seen += [item["position"] for item in page["items"]]
        address = page.get("next")
    assert seen == list(range(1000))


def test_jobs_of_a_batch_wait_behind_single_ones(office: Office, store: Store) -> None:
    office.post("/v1/batches", {"jobs": _jobs(2)})
    office.job()
    with store.reading() as session:
        priorities = list(
            session.scalars(select(Run.priority).where(Run.kind == "plan").order_by(Run.priority))
        )
    assert priorities == [0, BATCH, BATCH]


def test_results_come_as_a_table_and_documents_as_one_file(
    office: Office, plan_now: Callable[[Office, str], None], store: Store
) -> None:
    formula = {**_PROBLEM_JOB, "reference": "=1+1"}
    sent = office.post("/v1/batches", {"jobs": [*_jobs(3), formula]})
    items = office.get(sent.json["links"]["items"]).json["items"]
    for item in items[:2]:
        plan_now(office, item["job"])
        with store.writing() as session:
            for kind in ("quote", "order"):
                documents.add_document(
                    session, office.account, item["job"], kind=kind, subject_id=item["job"], filename="a.pdf",
                    content=f"%PDF {kind} {item['position']}".encode(),
                )  # fmt: skip
    lines = list(csv.DictReader(io.StringIO(office.get(sent.json["links"]["results"]).text)))
    assert [line["status"] for line in lines] == ["ready", "ready", "queued", "refused"]
    plan = office.get(items[0]["links"]["plan"]).json
    assert lines[0]["price_net"] == plan["price"]["net"]
    assert lines[0]["rolls_opened"] == str(plan["cut_list"]["rolls_opened"])
    assert lines[2]["price_net"] == ""
    assert (lines[3]["reference"], lines[3]["problem"]) == ("'=1+1", "bad_input")
    assert "/surfaces/0/" in lines[3]["detail"]
    fetched = office.get(sent.json["links"]["documents"])
    with zipfile.ZipFile(io.BytesIO(fetched.data)) as file:
        assert file.testzip() is None
        names = file.namelist()
        assert len(names) == len(set(names)) == 4
        assert {name.split("/")[0] for name in names} == {"0000-PX-000", "0001-PX-001"}
        assert {file.read(name) for name in names} >= {b"%PDF quote 0", b"%PDF order 1"}
    part = office.get(sent.json["links"]["documents"] + "?kind=quote&first=1")
    with zipfile.ZipFile(io.BytesIO(part.data)) as file:
        assert [file.read(name) for name in file.namelist()] == [b"%PDF quote 1"]


def test_a_batch_is_finished_once_and_that_is_told_once(office: Office, store: Store) -> None:
    hook = office.post("/v1/hooks", {"url": "https://jobs.example.com/", "events": ["batch.finished"]}).json[
        "id"
    ]
    sent = office.post("/v1/batches", {"jobs": [*_jobs(1), {}]})
    here = sent.json["links"]["self"]

    def finish() -> list[str]:
        with store.writing() as session:
            return batches.finish_batches(session)

    assert finish() == []
    reading = office.get(here)
    assert (reading.json["final"], reading.headers["Retry-After"]) == (False, "2")
    job = office.get(f"{here}/items").json["items"][0]["job"]
    office.post(f"/v1/jobs/{job}/plan/cancel")
    assert finish() == [sent.json["id"]]
    assert finish() == []
    ended = office.get(here)
    assert (ended.json["final"], ended.json["progress"], ended.json["counts"]["cancelled"]) == (True, 1, 1)
    told = office.get(f"/v1/hooks/{hook}/deliveries").json["items"]
    assert [delivery["subject"] for delivery in told] == [f"/v1/batches/{sent.json['id']}"]
    assert office.get(here, If_None_Match=ended.headers["ETag"]).status_code == 304


def test_a_job_planned_again_counts_as_it_stands_now(office: Office, store: Store) -> None:
    sent = office.post("/v1/batches", {"jobs": _jobs(1)})
    job = office.get(sent.json["links"]["items"]).json["items"][0]["job"]
    office.post(f"/v1/jobs/{job}/plan/cancel")
    office.post(f"/v1/jobs/{job}/plan/retry")
    assert office.get(sent.json["links"]["self"]).json["counts"]["queued"] == 1
    with store.reading() as session:
        assert jobs.get_job(session, office.account, job).revision == 1
