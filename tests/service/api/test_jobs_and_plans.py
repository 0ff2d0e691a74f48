"""A job from survey to plan, over HTTP."""

import threading
import time
from collections.abc import Callable

from service.api.examples import JOB
from service.records import runs
from service.records.store import Store
from tests.service.api.office import Office

PlanNow = Callable[[Office, str], None]


def test_a_sent_job_is_planned_and_read_back(office: Office, plan_now: PlanNow) -> None:
    sent = office.post("/v1/jobs", JOB)
    assert sent.status_code == 202
    job = sent.json["id"]
    assert sent.headers["Location"] == f"/v1/jobs/{job}/plan" == sent.json["links"]["plan"]
    assert sent.headers["Retry-After"] == "1"
    assert sent.json["status"] == "queued"

    waiting = office.get(f"/v1/jobs/{job}/plan")
    assert (waiting.status_code, waiting.json["status"], waiting.json["final"]) == (200, "queued", False)
    assert waiting.headers["Retry-After"] == "1"
    assert waiting.json["layout"] is None

    plan_now(office, job)
    ready = office.get(f"/v1/jobs/{job}/plan")
    assert (ready.json["status"], ready.json["final"], ready.json["progress"]) == ("ready", True, 1.0)
    assert "Retry-After" not in ready.headers
    assert {surface["id"] for surface in ready.json["layout"]["surfaces"]} == {"living-north", "living-east"}
    for part in ("cut_list", "take_off", "labour", "order_lines", "price", "checks"):
        assert ready.json[part] is not None
    assert office.get("/v1/jobs").json["items"][0]["status"] == "ready"


def test_a_job_reads_back_in_whole_millimetres_counter_clockwise(office: Office) -> None:
    surfaces = [
        {
            **JOB["surfaces"][1],
            "outline_mm": [[0, 0], [0, "8 ft"], ["4.2 m", "8 ft"], ["4.2 m", 0]],
            "edges": [],
        }
    ]
    job = office.job(surfaces=surfaces, junctions=[])
    stored = office.get(f"/v1/jobs/{job}").json
    assert stored["surfaces"][0]["outline_mm"] == [[0, 0], [4200, 0], [4200, 2438], [0, 2438]]
    assert stored["revision"] == 1
    assert stored["volume_m3"] == 412.0


def test_a_job_is_not_planned_where_it_says_so(office: Office, plan_now: PlanNow) -> None:
    sent = office.post("/v1/jobs", {**JOB, "plan": False})
    assert (sent.status_code, sent.json["status"]) == (201, "not_planned")
    job = sent.json["id"]
    assert sent.headers["Location"] == f"/v1/jobs/{job}"
    unplanned = office.get(f"/v1/jobs/{job}/plan")
    assert (unplanned.status_code, unplanned.json["code"]) == (404, "not_planned")
    asked = office.post(f"/v1/jobs/{job}/plan/retry")
    assert (asked.status_code, asked.json["status"]) == (202, "queued")
    assert asked.headers["Location"] == f"/v1/jobs/{job}/plan"
    plan_now(office, job)
    assert office.get(f"/v1/jobs/{job}/plan").json["status"] == "ready"


def test_faults_of_the_survey_are_all_named_before_anything_is_stored(office: Office) -> None:
    crossing = {
        **JOB["surfaces"][0],
        "outline_mm": [[0, 0], [6200, 2450], [6200, 0], [0, 2450]],
        "openings": [],
    }
    outside = {
        **JOB["surfaces"][1],
        "openings": [{"id": "w", "kind": "window", "outline_mm": [[9000, 0], [9500, 0], [9500, 500]]}],
    }
    answer = office.post("/v1/jobs", {**JOB, "surfaces": [crossing, outside]})
    assert answer.status_code == 422
    pointers = [fault["pointer"] for fault in answer.json["errors"]]
    assert any(pointer.startswith("/surfaces/0") for pointer in pointers)
    assert any(pointer.startswith("/surfaces/1/openings/0") for pointer in pointers)
    assert office.get("/v1/jobs").json["items"] == []


def test_an_answer_is_held_until_the_plan_is_ready(office: Office, plan_now: PlanNow) -> None:
    job = office.job()
    plan = threading.Timer(0.2, plan_now, (office, job))
    plan.start()
    held = office.get(f"/v1/jobs/{job}/plan", Prefer="wait=20")
    plan.join()
    assert held.json["status"] == "ready"
    assert held.json["layout"]["surfaces"]
    assert held.headers["Preference-Applied"] == "wait=20"


def test_a_held_answer_comes_as_things_stand_when_its_time_is_up(office: Office) -> None:
    sent = office.post("/v1/jobs", JOB, Prefer="respond-async, wait=1")
    assert (sent.status_code, sent.json["status"]) == (202, "queued")
    assert sent.headers["Preference-Applied"] == "wait=1"


def test_a_sent_job_held_until_it_is_planned_is_answered_with_created(
    office: Office, plan_now: PlanNow
) -> None:
    done: list[str] = []

    def plan_when_there() -> None:
        for _ in range(200):
            items = office.get("/v1/jobs").json["items"]
            if items:
                plan_now(office, items[0]["id"])
                done.append(items[0]["id"])
                return
            time.sleep(0.02)

    worker = threading.Thread(target=plan_when_there)
    worker.start()
    other = Office(office.client.application.test_client(), office.account, office.key)
    sent = other.post("/v1/jobs", JOB, Prefer="wait=600")
    worker.join()
    assert (sent.status_code, sent.json["status"]) == (201, "ready")
    assert sent.json["id"] == done[0]
    assert sent.headers["Preference-Applied"] == "wait=30"


def test_a_plan_is_cancelled_and_tried_again(office: Office, plan_now: PlanNow) -> None:
    job = office.job()
    assert office.post(f"/v1/jobs/{job}/plan/retry").json["code"] == "run_not_failed"
    assert office.post(f"/v1/jobs/{job}/plan/cancel").json["status"] == "cancelled"
    again = office.post(f"/v1/jobs/{job}/plan/cancel")
    assert (again.status_code, again.json["status"], again.json["final"]) == (200, "cancelled", True)
    assert office.post(f"/v1/jobs/{job}/plan/retry").status_code == 202
    plan_now(office, job)
    ended = office.post(f"/v1/jobs/{job}/plan/cancel")
    assert (ended.status_code, ended.json["code"]) == (409, "run_ended")


def test_a_changed_job_gets_a_new_revision_and_keeps_its_old_plan(office: Office, plan_now: PlanNow) -> None:
    job = office.job()
    plan_now(office, job)
    read = office.get(f"/v1/jobs/{job}")
    changed = office.send(
        "PUT", f"/v1/jobs/{job}", {**read.json, "title": "Plot 15"}, If_Match=read.headers["ETag"]
    )
    assert (changed.status_code, changed.json["revision"], changed.json["title"]) == (202, 2, "Plot 15")
    assert changed.headers["ETag"] != read.headers["ETag"]
    assert office.get(f"/v1/jobs/{job}/plan").json["revision"] == 2
    first = office.get(f"/v1/jobs/{job}/plan?revision=1").json
    assert (first["revision"], first["status"]) == (1, "ready")
    assert office.get(f"/v1/jobs/{job}/plan?revision=7").status_code == 404
    kept = office.send("PUT", f"/v1/jobs/{job}", {**JOB, "plan": False}, If_Match=changed.headers["ETag"])
    assert (kept.status_code, kept.json["status"]) == (200, "not_planned")


def test_a_removed_job_is_gone_with_its_plan(office: Office, plan_now: PlanNow) -> None:
    job = office.job()
    plan_now(office, job)
    etag = office.get(f"/v1/jobs/{job}").headers["ETag"]
    assert office.send("DELETE", f"/v1/jobs/{job}", If_Match=etag).status_code == 204
    for path in ("", "/plan", "/quotes", "/orders", "/documents", "/hours", "/drawings/living-north.svg"):
        assert office.get(f"/v1/jobs/{job}{path}").status_code == 404
    assert office.get("/v1/jobs").json["items"] == []
    assert office.send("DELETE", f"/v1/jobs/{job}", If_Match=etag).status_code == 404


def test_a_drawing_is_given_once_the_plan_is_ready(office: Office, plan_now: PlanNow) -> None:
    job = office.job()
    early = office.get(f"/v1/jobs/{job}/drawings/living-north.svg")
    assert (early.status_code, early.json["code"], early.headers["Retry-After"]) == (
        409,
        "plan_not_ready",
        "1",
    )
    plan_now(office, job)
    drawn = office.get(f"/v1/jobs/{job}/drawings/living-north.svg")
    assert (drawn.status_code, drawn.content_type) == (200, "image/svg+xml")
    assert drawn.data.startswith(b"<svg")
    assert "sandbox" in drawn.headers["Content-Security-Policy"]
    assert office.get(f"/v1/jobs/{job}/drawings/attic.svg").status_code == 404
    unchanged = office.get(f"/v1/jobs/{job}/drawings/living-north.svg", If_None_Match=drawn.headers["ETag"])
    assert unchanged.status_code == 304


def test_a_drawing_of_a_cancelled_plan_is_refused_without_asking_to_wait(office: Office) -> None:
    job = office.job()
    office.post(f"/v1/jobs/{job}/plan/cancel")
    answer = office.get(f"/v1/jobs/{job}/drawings/living-north.svg")
    assert (answer.status_code, "Retry-After" in answer.headers) == (409, False)


def test_the_trace_of_a_request_reaches_the_run(office: Office, store: Store) -> None:
    trace = "0af7651916cd43dd8448eb211c80319c"
    sent = office.post("/v1/jobs", JOB, traceparent=f"00-{trace}-b7ad6b7169203331-01")
    assert sent.headers["traceparent"].split("-")[1] == trace
    with store.reading() as session:
        run = runs.latest_run(session, office.account, sent.json["id"])
    assert run is not None
    assert run.traceparent == sent.headers["traceparent"]


def test_a_broken_trace_starts_a_new_one(office: Office) -> None:
    for broken in (
        "00-zz-11-01",
        "ff-" + "1" * 32 + "-" + "2" * 16 + "-01",
        "00-" + "0" * 32 + "-" + "2" * 16 + "-01",
    ):
        answer = office.get("/v1/account", traceparent=broken)
        assert answer.headers["traceparent"].split("-")[1] not in broken
