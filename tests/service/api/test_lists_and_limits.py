"""Pages, parameters, rates, and what every answer carries."""

import datetime
import logging
from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import update

from service.api.rates import Rates
from service.app import create_app
from service.records.store import Store, now_of
from service.records.tables import Run
from service.settings import Settings
from tests.service.api.office import Office


def test_pages_lead_through_the_whole_list_once(office: Office) -> None:
    sent = [office.job(reference=f"R-{number}", plan=False) for number in range(7)]
    found: list[str] = []
    path = "/v1/jobs?limit=3"
    sizes = []
    while path:
        page = office.get(path)
        sizes.append(len(page.json["items"]))
        found += [job["id"] for job in page.json["items"]]
        path = page.json.get("next", "")
        assert page.headers.get("Link") == (f'<{path}>; rel="next"' if path else None)
    assert sizes == [3, 3, 1]
    assert found == sent[::-1]


def test_a_page_keeps_its_filter(office: Office) -> None:
    for number in range(3):
        office.job(reference="A", title=str(number), plan=False)
        office.job(reference="B", plan=False)
    page = office.get("/v1/jobs?reference=A&limit=2").json
    rest = office.get(page["next"]).json
    assert [job["title"] for job in page["items"] + rest["items"]] == ["2", "1", "0"]


def test_jobs_sent_between_two_pages_move_nothing(office: Office) -> None:
    old = [office.job(plan=False) for _ in range(4)]
    page = office.get("/v1/jobs?limit=2").json
    office.job(plan=False)
    rest = office.get(page["next"]).json
    assert [job["id"] for job in page["items"] + rest["items"]] == old[::-1]


@pytest.mark.parametrize(
    "query",
    ["limit=0", "limit=201", "limit=x", "limit=1.5", "limit=", "limit=5&limit=6", "page=2", "limit=-1",
     "limit=" + "9" * 400, "reference=", "reference=" + "x" * 65, "limit=%D9%A3"],
)  # fmt: skip
def test_parameters_that_cannot_be_are_named(office: Office, query: str) -> None:
    answer = office.get(f"/v1/jobs?{query}")
    assert (answer.status_code, answer.json["code"]) == (400, "bad_parameter")
    assert query.split("=", maxsplit=1)[0] in answer.json["detail"]


def test_a_parameter_nobody_knows_is_named_without_its_control_characters(office: Office) -> None:
    assert '"a\ufffdb" is no parameter' in office.get("/v1/jobs?a%02b=1").json["detail"]


@pytest.mark.parametrize("cursor", ["x", "W10", "WzEsMiwzXQ", "A" * 300, "WyIvdjEvam9icyIsICJ4IiwgInkiXQ"])
def test_a_made_up_cursor_is_refused(office: Office, cursor: str) -> None:
    assert office.get(f"/v1/jobs?cursor={cursor}").json["code"] == "bad_cursor"


def test_a_cursor_of_another_list_is_refused(office_of: Callable[..., Office]) -> None:
    merchant = office_of(kind="merchant")
    for name in ("a", "b"):
        merchant.post("/v1/account/customers", {"name": name})
    cursor = merchant.get("/v1/account/customers?limit=1").json["next"].split("cursor=")[1]
    assert merchant.get(f"/v1/jobs?cursor={cursor}").json["code"] == "bad_cursor"


def test_an_account_over_its_rate_is_told_when_to_come_back(
    settings: Settings, store: Store, office_of: Callable[..., Office]
) -> None:
    app = create_app(replace(settings, requests_per_minute=3), store)
    busy, calm = office_of(), office_of()
    busy.client = calm.client = app.test_client()
    answers = [
        busy.get("/v1/account") for _ in range(8)
    ]  # even where a new minute begins between two of them
    assert answers[0].status_code == 200
    last = next(answer for answer in answers if answer.status_code != 200)
    assert (last.status_code, last.json["code"]) == (429, "too_many_requests")
    assert 1 <= int(last.headers["Retry-After"]) <= 60
    assert last.headers["RateLimit-Policy"] == '"requests";q=3;w=60'
    assert last.headers["RateLimit"].startswith('"requests";r=0;t=')
    assert calm.get("/v1/account").status_code == 200


def test_a_lost_counter_stops_nobody(caplog: pytest.LogCaptureFixture) -> None:
    rates = Rates("redis://127.0.0.1:1/0", per_minute=1)
    with caplog.at_level(logging.WARNING):
        assert all(rates.count("acc_1").allowed for _ in range(3))
    assert "cannot be counted" in caplog.text


def test_guessing_keys_is_slowed_down(settings: Settings, store: Store) -> None:
    client = create_app(replace(settings, requests_per_minute=4), store).test_client()
    statuses = {
        client.get("/v1/account", headers={"Authorization": "Bearer lapwise_guess"}).status_code
        for _ in range(12)
    }
    assert statuses == {401, 429}


def test_every_answer_carries_the_headers_that_keep_browsers_honest(office: Office) -> None:
    for path in (
        "/v1/account",
        "/v1/nothing",
        "/",
        "/reference",
        "/healthz",
        "/v1/openapi.json",
        "/v1/jobs/x",
    ):
        answer = office.get(path)
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["X-Frame-Options"] == "DENY"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
        assert "Access-Control-Allow-Origin" not in answer.headers
        assert answer.headers["X-Request-Id"].startswith("req_")
    assert office.get("/v1/jobs").headers["Cache-Control"] == "no-store"


def test_a_request_is_answered_under_the_callers_own_id_where_it_is_harmless(office: Office) -> None:
    assert office.get("/v1/nothing", X_Request_Id="abc-1").json["request_id"] == "abc-1"
    for odd in ("a b", "x" * 65, '"<script>"'):
        assert office.get("/v1/nothing", X_Request_Id=odd).headers["X-Request-Id"] != odd


@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
def test_unknown_addresses_and_verbs_are_problems_too(office: Office, method: str) -> None:
    unknown = office.send(method, "/v1/nothing")
    assert (unknown.status_code, unknown.content_type) == (404, "application/problem+json")
    assert unknown.json["instance"] == "/v1/nothing"
    if method not in ("GET", "POST"):
        wrong = office.send(method, "/v1/jobs")
        assert (wrong.status_code, wrong.json["code"]) == (405, "no_such_method")
        assert {"GET", "POST"} <= set(wrong.headers["Allow"].split(", "))


@pytest.mark.parametrize("file", ["orders/ord_1.xml", "quotes/quo_1.xml", "pressure-tests/tst_1.csv"])
def test_a_file_that_can_only_be_fetched_says_so(office: Office, file: str) -> None:
    for method in ("DELETE", "PATCH", "POST"):
        wrong = office.send(method, f"/v1/{file}")
        assert (wrong.status_code, set(wrong.headers["Allow"].split(", "))) == (405, {"GET", "HEAD"})


def test_a_body_where_none_is_wanted_is_refused(office: Office) -> None:
    job = office.job()
    assert office.post(f"/v1/jobs/{job}/plan/cancel", {"now": True}).status_code == 422
    assert office.post(f"/v1/jobs/{job}/plan/cancel", {}).status_code == 200


def test_an_error_of_ours_tells_nothing_of_the_inside(
    settings: Settings, store: Store, office: Office
) -> None:
    app = create_app(settings, store)

    def broken() -> None:
        raise RuntimeError("SELECT secret FROM /srv/lapwise")

    app.add_url_rule("/broken", view_func=broken)
    answer = app.test_client().get("/broken")
    assert (answer.status_code, answer.json["code"]) == (500, "our_fault")
    assert "SELECT" not in answer.text
    assert "Traceback" not in answer.text


def test_a_database_that_is_away_is_said_so(settings: Settings, tmp_path: object) -> None:
    client = create_app(replace(settings, database_url=f"sqlite:///{tmp_path}/none/empty.db")).test_client()
    answer = client.get("/v1/account", headers={"Authorization": "Bearer lapwise_x"})
    assert answer.status_code == 401  # told from its checksum alone
    ready = client.get("/readyz")
    assert (ready.status_code, ready.json["status"], ready.json["checks"]["database"]) == (
        503,
        "not_ready",
        False,
    )


def test_health_needs_no_key(office: Office) -> None:
    assert office.get("/healthz", Authorization=None).json == {"status": "alive"}
    office.job()
    measured = office.get("/metrics", Authorization=None).text
    assert 'lapwise_runs{kind="plan",state="queued"} 1.0' in measured
    assert 'operation="send_job"' in measured
    assert 'lapwise_hook_deliveries{state="given_up"} 0.0' in measured
    assert "lapwise_outbox_lag_seconds" in measured
    assert office.account not in measured


def test_whoever_can_keep_a_job_is_ready_and_says_what_is_away_or_behind(
    office: Office, store: Store
) -> None:
    ready = office.get("/readyz", Authorization=None)
    checks = {
        "database": True,
        "broker": False,
        "worker": False,
        "scheduler": False,
        "relay": True,
        "queue": True,
    }
    assert (ready.status_code, ready.json["status"], ready.json["checks"]) == (200, "degraded", checks)
    assert (ready.json["relay_lag_s"], ready.json["queue_age_s"]) == (0, 0)
    office.job()
    with store.writing() as session:
        session.execute(update(Run).values(not_before=now_of(session) - datetime.timedelta(seconds=90)))
    late = office.get("/readyz", Authorization=None)
    assert (late.status_code, late.json["status"]) == (200, "degraded")
    assert (late.json["checks"]["relay"], late.json["checks"]["queue"]) == (False, False)
    assert late.json["relay_lag_s"] >= 90
    assert late.json["queue_age_s"] >= 90
