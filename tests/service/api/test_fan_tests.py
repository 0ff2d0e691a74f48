"""Fan tests, budgets and leaks over HTTP, worked on by the worker's own tasks."""

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest

from service.api.examples import JOB
from service.api.pressure_tests import TEST
from tests.service.api.office import Office

WorkNow = Callable[[Office], list[str]]


def _scaled(factor: float, **more: Any) -> dict[str, Any]:
    (way,) = TEST["directions"]
    readings = [{**one, "flow_m3_h": one["flow_m3_h"] * factor} for one in way["readings"]]
    return {**TEST, "directions": [{**way, "readings": readings}], **more}


def _sent(office: Office, body: dict[str, Any]) -> str:
    answer = office.post("/v1/pressure-tests", body)
    assert answer.status_code == 202, answer.text
    return str(answer.json["id"])


def test_readings_become_a_result_a_table_and_a_report(office: Office, work_now: WorkNow) -> None:
    sent = office.post("/v1/pressure-tests", TEST)
    here = f"/v1/pressure-tests/{sent.json['id']}"
    assert (sent.status_code, sent.headers["Location"], sent.json["status"]) == (202, here, "queued")
    early = office.get(f"{here}.csv")
    assert (early.status_code, early.json["code"], early.headers["Retry-After"]) == (
        409,
        "test_not_ready",
        "1",
    )

    assert work_now(office) == ["analyse", "test_report"]
    read = office.get(here)
    result = read.json["result"]
    assert (read.json["status"], result["reference"], result["is_mean"]) == ("ready", "PT-007", False)
    figures = result["figures"]
    n50, flow = figures["n50_per_h"], figures["flow_50_m3_h"]
    assert n50["value"] == pytest.approx(flow["value"] / 412.0, rel=1e-6)
    assert n50["low"] < n50["value"] < n50["high"]
    assert result["target"]["finding"] in ("met", "unclear", "not_met")
    assert read.json["prediction"] is None

    table = office.get(read.json["links"]["csv"])
    assert (table.status_code, table.mimetype) == (200, "text/csv")
    lines = list(csv.DictReader(io.StringIO(table.text)))
    (line,) = [each for each in lines if (each["part"], each["name"]) == ("result", "flow_50_m3_h")]
    assert float(line["value"]) == pytest.approx(flow["value"], rel=1e-6)

    report = office.get(read.json["links"]["document"])
    assert report.data.startswith(b"%PDF")
    assert report.headers["Content-Disposition"] == 'attachment; filename="test-report-PT-007.pdf"'


def test_an_answer_is_held_until_the_test_is_analysed(office: Office, work_now: WorkNow) -> None:
    test = _sent(office, TEST)
    assert office.get(f"/v1/pressure-tests/{test}", Prefer="wait=1").json["status"] == "queued"
    work_now(office)
    held = office.get(f"/v1/pressure-tests/{test}", Prefer="wait=20")
    assert (held.json["status"], held.json["final"]) == ("ready", True)
    again = office.get(f"/v1/pressure-tests/{test}", If_None_Match=held.headers["ETag"])
    assert again.status_code == 304


def test_readings_that_mean_nothing_are_all_named_and_nothing_is_kept(office: Office) -> None:
    (way,) = TEST["directions"]
    bad = [
        {"pressure_pa": -1.0, "flow_m3_h": 30.0},
        {"pressure_pa": -20, "flow_m3_h": 80},
        {"pressure_pa": -30, "flow_m3_h": 99},
    ]
    answer = office.post(
        "/v1/pressure-tests",
        {**TEST, "building": {}, "directions": [{**way, "readings": bad}, {**way, "zero_flow_before_pa": [0.0]}]},
    )  # fmt: skip
    assert answer.status_code == 422
    assert {fault["pointer"] for fault in answer.json["errors"]} == {
        "/directions/1/direction", "/directions/0/readings/0/pressure_pa", "/building/volume_m3",
    }  # fmt: skip
    assert office.get("/v1/pressure-tests").json["items"] == []
    unknown = office.post("/v1/pressure-tests", {**TEST, "job": "job_0000000000000000000000"})
    assert (unknown.status_code, unknown.json["errors"][0]["pointer"]) == (422, "/job")


def test_a_mistyped_reading_is_named(office: Office, work_now: WorkNow) -> None:
    (way,) = TEST["directions"]
    readings = [dict(one) for one in way["readings"]]
    readings[3]["flow_m3_h"] = 1810.0
    test = _sent(office, {**TEST, "directions": [{**way, "readings": readings}]})
    work_now(office)
    checks = office.get(f"/v1/pressure-tests/{test}").json["result"]["checks"]
    (outlier,) = [check for check in checks if check["code"] == "outliers" or check["reading"] == 4]
    assert outlier["reading"] == 4
    assert "decimal point" in outlier["message"]


def test_a_test_takes_sizes_and_target_from_its_job(office: Office, work_now: WorkNow) -> None:
    job = office.job()
    work_now(office)
    bare = {name: value for name, value in TEST.items() if name not in ("building", "target")}
    test = _sent(office, {**bare, "job": job})
    work_now(office)
    read = office.get(f"/v1/pressure-tests/{test}").json
    assert read["test"]["building"]["volume_m3"] == 412.0
    assert read["result"]["target"]["target"] == 0.6
    listed = office.get(f"/v1/jobs/{job}/documents?kind=test_report").json["items"]
    assert [document["of"] for document in listed] == [test]
    assert [each["id"] for each in office.get(f"/v1/pressure-tests?job={job}").json["items"]] == [test]
    assert office.get("/v1/pressure-tests?job=job_1").json["items"] == []


def test_a_test_takes_areas_from_its_jobs_building(office: Office, work_now: WorkNow) -> None:
    box = {
        "storeys": [
            {"id": "g", "footprint_mm": [[0, 0], [8000, 0], [8000, 6000], [0, 6000]], "height_mm": 2500}
        ]
    }
    job = office.job(surfaces=[], junctions=[], building=box, volume_m3=None, target={"q50_m3_h_m2": 1.5})
    bare = {name: value for name, value in TEST.items() if name not in ("building", "target")}
    test = _sent(office, {**bare, "job": job})
    work_now(office)
    read = office.get(f"/v1/pressure-tests/{test}").json
    size = read["test"]["building"]
    assert (size["volume_m3"], size["envelope_area_m2"], size["floor_area_m2"]) == (
        8 * 6 * 2.5, 2 * 8 * 6 + 2 * (8 + 6) * 2.5, 8 * 6,
    )  # fmt: skip
    assert read["result"]["target"]["measure"] == "q50_m3_h_m2"


def test_a_test_is_removed_only_as_it_was_read(office: Office, work_now: WorkNow) -> None:
    test = _sent(office, TEST)
    early = office.get(f"/v1/pressure-tests/{test}").headers["ETag"]
    work_now(office)
    assert office.send("DELETE", f"/v1/pressure-tests/{test}").status_code == 428
    assert office.send("DELETE", f"/v1/pressure-tests/{test}", If_Match=early).status_code == 412
    etag = office.get(f"/v1/pressure-tests/{test}").headers["ETag"]
    assert office.send("DELETE", f"/v1/pressure-tests/{test}", If_Match=etag).status_code == 204
    assert office.get(f"/v1/pressure-tests/{test}").status_code == 404
    assert office.get("/v1/pressure-tests").json["items"] == []


def test_a_test_removed_while_it_waits_is_not_worked_on(office: Office, work_now: WorkNow) -> None:
    test = _sent(office, TEST)
    etag = office.get(f"/v1/pressure-tests/{test}").headers["ETag"]
    assert office.send("DELETE", f"/v1/pressure-tests/{test}", If_Match=etag).status_code == 204
    assert work_now(office) == []


def test_targets_say_where_they_come_from_and_to_check_the_edition(office: Office) -> None:
    targets = office.get("/v1/targets").json["items"]
    assert len(targets) >= 10
    for target in targets:
        assert "edition in force" in target["note"]
        assert target["provenance"] in ("published", "memory")
        assert sum(value is not None for value in target["target"].values()) == 1


def test_the_budget_of_a_plan_shares_out_what_the_target_allows(office: Office, work_now: WorkNow) -> None:
    job = office.job()
    here = f"/v1/jobs/{job}/leakage-budget"
    assert office.get(here).json["code"] == "plan_not_ready"
    work_now(office)
    budget = office.get(here).json["budget"]
    assert budget["allowed_m3_h"] == pytest.approx(0.6 * 412, rel=1e-9)
    likely = [line["flow_50_m3_h"]["likely"] for line in budget["lines"]]
    assert likely == sorted(likely, reverse=True)
    assert sum(likely) == pytest.approx(budget["flow_50_m3_h"]["likely"], rel=1e-6)
    assert 1 <= len(budget["most_important"]) <= 10
    assert budget["forgotten_pipe_share"] == pytest.approx(
        budget["forgotten_pipe_m3_h"]["likely"] / budget["allowed_m3_h"], rel=1e-6
    )
    other = office.get(f"{here}?target=r-2000").json
    assert (other["preset"], other["budget"]["allowed_m3_h"]) == ("r-2000", pytest.approx(1.5 * 412))
    assert other["budget"]["flow_50_m3_h"] == budget["flow_50_m3_h"]
    assert office.get(f"{here}?target=none").json["code"] == "bad_parameter"


def test_the_budget_learns_from_the_accounts_own_valid_tests(office: Office, work_now: WorkNow) -> None:
    def planned() -> tuple[str, dict[str, Any]]:
        job = office.job()
        work_now(office)
        return job, office.get(f"/v1/jobs/{job}/leakage-budget").json["budget"]

    job, before = planned()
    assert (before["factor"], before["tests_behind"]) == (1.0, 0)
    test = _sent(office, _scaled(2.0, job=job))
    work_now(office)
    pair = office.get(f"/v1/pressure-tests/{test}").json["prediction"]
    assert pair["predicted_m3_h"]["likely"] == before["flow_50_m3_h"]["likely"]
    (entry,) = office.get("/v1/leakage-history").json["items"]
    assert (entry["id"], entry["job"], entry["measured_m3_h"]) == (test, job, pair["measured_m3_h"])

    _, after = planned()
    ratio = pair["measured_m3_h"] / pair["predicted_m3_h"]["likely"]
    assert after["tests_behind"] == 1
    assert min(1.0, ratio) < after["factor"] < max(1.0, ratio)
    assert after["flow_50_m3_h"]["likely"] == pytest.approx(
        before["flow_50_m3_h"]["likely"] * after["factor"], rel=1e-4
    )

    newer = _sent(office, _scaled(1.0, job=job))  # the newest test of a job stands for it
    work_now(office)
    assert [each["id"] for each in office.get("/v1/leakage-history").json["items"]] == [newer]
    for gone in (newer, test):
        etag = office.get(f"/v1/pressure-tests/{gone}").headers["ETag"]
        office.send("DELETE", f"/v1/pressure-tests/{gone}", If_Match=etag)
    _, forgotten = planned()
    assert (forgotten["factor"], forgotten["tests_behind"]) == (1.0, 0)


def test_nothing_is_learnt_from_a_test_that_is_not_valid(office: Office, work_now: WorkNow) -> None:
    job = office.job()
    work_now(office)
    (way,) = TEST["directions"]
    few = {**TEST, "job": job, "directions": [{**way, "readings": way["readings"][2:]}]}
    test = _sent(office, few)
    work_now(office)
    read = office.get(f"/v1/pressure-tests/{test}").json
    assert (read["result"]["valid"], read["prediction"]["counts"]) == (False, False)
    assert office.get("/v1/leakage-history").json["items"] == []


def test_leaks_are_noted_and_drawn_on_their_surface(office: Office, work_now: WorkNow) -> None:
    job = office.job()
    work_now(office)
    drawing = f"/v1/jobs/{job}/drawings/living-north.svg"
    before, elsewhere = office.get(drawing), office.get(drawing.replace("north", "east"))
    noted = office.post(
        f"/v1/jobs/{job}/leaks", {"surface": "living-north", "detail": "p1", "what": "draught"}
    )
    assert (noted.status_code, noted.json["sealed"], noted.json["test"]) == (201, False, None)
    assert work_now(office) == ["drawings"]
    found = office.get(drawing)
    assert found.headers["ETag"] != before.headers["ETag"]
    assert found.text.count("leak found") == 1
    assert office.get(drawing.replace("north", "east")).data == elsewhere.data

    here = f"/v1/jobs/{job}/leaks/{noted.json['id']}"
    sealed = {"surface": "living-north", "detail": "p1", "what": "draught", "sealed": True}
    assert office.send("PUT", here, sealed).status_code == 428
    changed = office.send("PUT", here, sealed, If_Match=noted.headers["ETag"])
    assert (changed.status_code, changed.json["sealed"]) == (200, True)
    assert office.send("PUT", here, sealed, If_Match=noted.headers["ETag"]).status_code == 412
    work_now(office)
    assert "leak sealed since" in office.get(drawing).text
    assert office.get(f"/v1/jobs/{job}/leaks").json["items"] == [changed.json]
    assert office.get(f"/v1/jobs/{job}/documents").headers.get("Retry-After") is None


def test_leaks_that_come_with_a_test_stand_on_the_job_until_it_is_removed(
    office: Office, work_now: WorkNow
) -> None:
    job = office.job()
    leaks = [{"surface": "living-north", "at_mm": [1000 * n, 500], "what": f"leak {n}"} for n in (1, 2, 3)]
    test = _sent(office, {**TEST, "job": job, "leaks": leaks})
    listed = office.get(f"/v1/jobs/{job}/leaks").json["items"]
    assert [(leak["what"], leak["test"]) for leak in listed] == [(f"leak {n}", test) for n in (1, 2, 3)]
    work_now(office)
    drawing = f"/v1/jobs/{job}/drawings/living-north.svg"
    assert "leak found" in office.get(drawing).text
    etag = office.get(f"/v1/pressure-tests/{test}").headers["ETag"]
    assert office.send("DELETE", f"/v1/pressure-tests/{test}", If_Match=etag).status_code == 204
    work_now(office)
    assert office.get(f"/v1/jobs/{job}/leaks").json["items"] == []
    assert "leak found" not in office.get(drawing).text


@pytest.mark.parametrize("kind", ["walk_round", "survey_report"])
def test_a_document_is_rendered_once_somebody_wants_it(office: Office, work_now: WorkNow, kind: str) -> None:
    job = office.job()
    wished = f"/v1/jobs/{job}/documents"
    assert office.post(wished, {"kind": kind}).json["code"] == "plan_not_ready"
    work_now(office)
    first = office.post(wished, {"kind": kind})
    assert (first.status_code, first.json["status"], first.json["document"]) == (202, "queued", None)
    assert office.post(wished, {"kind": kind}).json["of"] == first.json["of"]
    assert work_now(office) == [kind]
    again = office.post(wished, {"kind": kind})
    assert (again.status_code, again.json["final"]) == (201, True)
    assert office.get(again.json["links"]["document"]).data.startswith(b"%PDF")
    (listed,) = office.get(f"{wished}?kind={kind}").json["items"]
    assert listed["id"] == again.json["document"]
    assert office.post(wished, {"kind": "quote"}).status_code == 422


def test_a_removed_jobs_leaks_and_budget_are_gone_and_its_test_stays(
    office: Office, work_now: WorkNow
) -> None:
    job = office.job()
    test = _sent(office, {**TEST, "job": job})
    work_now(office)
    office.send("DELETE", f"/v1/jobs/{job}", If_Match=office.get(f"/v1/jobs/{job}").headers["ETag"])
    for path in ("leaks", "leakage-budget", "survey"):
        assert office.get(f"/v1/jobs/{job}/{path}").status_code == 404
    assert office.get(f"/v1/pressure-tests/{test}").json["status"] == "ready"
    assert office.post("/v1/jobs", JOB).status_code == 202
