"""Signing in, staying signed in, and whose things one sees: the real application, without a browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from flask import Flask

from api_schema.job import Job
from api_schema.shape import dump, load
from service.app import create_app
from service.records import accounts, jobs
from service.records.store import Store
from service.settings import Settings
from tests.pages.person import TOKEN, Person
from tests.pages.rooms import ROOM


def test_a_page_asks_for_the_key_first_and_then_leads_on(person: Callable[..., Person]) -> None:
    someone = person()
    asked = someone.client.get("/jobs?words=ford")
    assert asked.status_code == 303
    assert asked.headers["Location"] == "/sign-in?next=/jobs%3Fwords%3Dford"
    done = someone.sign_in(onward="/jobs?words=ford")
    assert (done.status_code, done.headers["Location"]) == (303, "/jobs?words=ford")
    assert someone.client.get("/jobs").status_code == 200


@pytest.mark.parametrize(
    "onward",
    ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "jobs", "/\tx", ""],
)
def test_nobody_is_led_elsewhere_by_signing_in(person: Callable[..., Person], onward: str) -> None:
    assert person().sign_in(onward=onward).headers["Location"] == "/jobs"


def test_the_cookie_is_out_of_reach_of_scripts_and_holds_no_key(person: Callable[..., Person]) -> None:
    someone = person()
    cookie = next(
        line
        for line in someone.sign_in().headers.getlist("Set-Cookie")
        if line.startswith("lapwise_session=")
    )
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert someone.key not in cookie


def test_the_cookie_travels_encrypted_alone_where_the_service_is_reached_so(
    settings: Settings, store: Store, person: Callable[..., Person]
) -> None:
    app = create_app(replace(settings, public_url="https://lapwise.example"), store)
    cookies = person(other=app).sign_in().headers.getlist("Set-Cookie")
    assert all("Secure" in cookie for cookie in cookies)


@pytest.mark.parametrize("key", ["lapwise_wrong", "", "x" * 500])
def test_a_wrong_key_opens_nothing(person: Callable[..., Person], key: str) -> None:
    someone = person()
    answer = someone.client.post("/sign-in", data={"csrf": someone.token("/sign-in"), "key": key})
    assert answer.status_code == 401
    assert "not known here" in answer.text
    assert someone.client.get("/jobs").status_code == 303


def test_a_sign_in_form_of_another_site_is_refused(person: Callable[..., Person]) -> None:
    someone = person()
    someone.client.get("/sign-in")
    assert someone.client.post("/sign-in", data={"csrf": "guessed", "key": someone.key}).status_code == 400


def test_a_forged_or_altered_cookie_is_no_session(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    cookie = someone.client.get_cookie("lapwise_session")
    assert cookie is not None
    body, _, signature = cookie.value.rpartition(".")
    altered = f"{body}.{'B' if signature[0] == 'A' else 'A'}{signature[1:]}"
    for forged in (altered, f"x.{cookie.value}", ""):
        someone.client.set_cookie("lapwise_session", forged)
        assert someone.client.get("/jobs").status_code == 303


def test_a_session_ends_with_its_key(person: Callable[..., Person], store: Store) -> None:
    someone = person()
    someone.sign_in()
    with store.writing() as session:
        accounts.revoke_key(session, someone.account, someone.key_id)
    assert someone.client.get("/jobs").status_code == 303


def test_signing_out_ends_it(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    token = someone.token("/jobs")
    assert someone.client.post("/sign-out", data={"csrf": "guessed"}).status_code == 400
    assert someone.client.get("/jobs").status_code == 200
    assert someone.client.post("/sign-out", data={"csrf": token}).status_code == 303
    assert someone.client.get("/jobs").status_code == 303


def test_a_session_opens_pages_and_not_the_api(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    assert someone.client.get("/v1/jobs").status_code == 401


def test_nothing_is_done_without_the_forms_token(app: Flask, person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    job = someone.job()
    for rule in app.url_map.iter_rules():
        if "POST" not in (rule.methods or ()) or not rule.endpoint.startswith("page_"):
            continue
        if rule.rule in ("/sign-in", "/sign-out") or rule.rule.startswith("/offer/"):
            continue
        path = re.sub(r"<[^>]+>", job, rule.rule)
        for data in ({}, {"csrf": "guessed"}):
            answer = someone.client.post(path, data=data)
            assert answer.status_code == 400, path
            assert "came from another page" in answer.text


def test_a_form_sent_twice_is_done_once(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    job = someone.job()
    sent = {
        "csrf": someone.token(f"/jobs/{job}/fit"),
        "/operations/0/operation": "tape_lap",
        "/operations/0/hours": "2.5",
    }
    first, second = (someone.client.post(f"/jobs/{job}/fit", data=sent) for _ in range(2))
    assert (first.status_code, second.status_code) == (303, 303)
    assert first.headers["Location"] == second.headers["Location"]
    page = someone.client.get(f"/jobs/{job}/fit").text
    assert page.count("Tape laps 2.5 h") == 1
    assert (
        someone.client.post(f"/jobs/{job}/fit", data={**sent, "/operations/0/hours": "3"}).status_code == 409
    )
    again = someone.client.post(f"/jobs/{job}/fit", data={**sent, "csrf": someone.token(f"/jobs/{job}/fit")})
    assert again.status_code == 303
    assert someone.client.get(f"/jobs/{job}/fit").text.count(" 2.5 h</li>") == 2


def test_a_form_that_was_refused_may_be_sent_again(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    job = someone.job()
    sent = {
        "csrf": someone.token(f"/jobs/{job}/fit"),
        "/operations/0/operation": "tape_lap",
        "/operations/0/hours": "x",
    }
    assert [someone.client.post(f"/jobs/{job}/fit", data=sent).status_code for _ in range(2)] == [422, 422]


def test_anothers_job_is_not_there(app: Flask, person: Callable[..., Person]) -> None:
    theirs, mine = person(), person()
    job = theirs.job()
    mine.sign_in()
    token = mine.token("/jobs")
    for rule in app.url_map.iter_rules():
        if not rule.endpoint.startswith("page_") or not rule.rule.startswith("/jobs/<job>"):
            continue
        path = re.sub(r"<[^>]+>", "x", rule.rule.replace("<job>", job))
        for method in {"GET", "POST"} & (rule.methods or set()):
            answer = mine.client.open(
                path, method=method, data={"csrf": token, "do": "save", "kind": "walk_round"}
            )
            assert answer.status_code == 404, (method, path)
    assert "One room" not in mine.client.get("/jobs?words=room").text


def test_a_key_that_may_look_alone_changes_nothing(person: Callable[..., Person]) -> None:
    someone = person(scopes=("read",))
    someone.sign_in()
    job = someone.job()
    assert someone.client.get(f"/jobs/{job}/measure").status_code == 200
    token = someone.token(f"/jobs/{job}/measure")
    for path in (
        f"/jobs/{job}/measure",
        f"/jobs/{job}/remove",
        f"/jobs/{job}/plan/again",
        "/standard",
        "/account",
    ):
        assert someone.client.post(path, data={"csrf": token}).status_code == 403, path
    assert someone.client.get("/account/keys").status_code == 403


def test_what_was_typed_is_never_markup(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    token = someone.token("/jobs/new?from=surfaces")
    evil = '"><script>alert(1)</script>'
    answer = someone.client.post("/jobs/new", data={"csrf": token, "do": "plan", "/reference": evil, "/title": evil, "/surfaces/0/id": evil})  # fmt: skip
    assert answer.status_code == 422
    assert "<script>alert" not in answer.text
    assert "&lt;script&gt;alert" in answer.text
    assert "script-src 'self'" in answer.headers["Content-Security-Policy"]
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["Cache-Control"] == "no-store"


def test_of_two_who_change_a_job_the_second_is_told(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    job = someone.job()
    page = someone.client.get(f"/jobs/{job}/measure").text
    fields = dict(re.findall(r'<input[^>]* name="(/[^"]+)"[^>]* value="([^"]*)"', page))
    token, etag = TOKEN.search(page), re.search(r'name="etag" value="([^"]+)"', page)
    assert token is not None
    assert etag is not None
    sent = {**fields, "/surfaces/0/kind": "wall", "/surfaces/0/openings/0/kind": "window", "/surfaces/0/penetrations/0/kind": "pipe",
            "csrf": token[1], "etag": etag[1].replace("&#34;", '"'), "do": "save", "/title": "First"}  # fmt: skip
    other_window = someone.token(f"/jobs/{job}/measure")
    first = someone.client.post(f"/jobs/{job}/measure", data=sent)
    assert first.status_code == 303, first.text
    second = someone.client.post(
        f"/jobs/{job}/measure", data={**sent, "csrf": other_window, "/title": "Second"}
    )
    assert second.status_code == 412
    assert "Somebody else saved this job" in second.text
    assert 'value="Second"' in second.text


def test_a_merchant_works_for_its_customer_and_for_no_other(
    person: Callable[..., Person], store: Store
) -> None:
    merchant, stranger = person(kind="merchant"), person()
    with store.writing() as session:
        customer = accounts.create_customer(session, merchant.account, name="Example Fitters").id
        jobs.create_job(session, customer, dump(load(Job, {**ROOM, "title": "The customer's room"})))
    merchant.sign_in()
    token = merchant.token("/account/customers")
    assert (
        merchant.client.post(
            "/account/customers/act", data={"csrf": token, "customer": stranger.account}
        ).status_code
        == 404
    )
    merchant.client.post("/account/customers/act", data={"csrf": token, "customer": customer})
    page = merchant.client.get("/jobs").text
    assert "The customer&#39;s room" in page
    assert "Example Fitters" in page


def test_without_a_secret_signing_in_says_what_is_missing(settings: Settings, store: Store) -> None:
    app = create_app(replace(settings, data_dir=None), store)
    answer = app.test_client().get("/sign-in")
    assert answer.status_code == 503
    assert "LAPWISE_SESSION_SECRET" in answer.text
    assert app.test_client().get("/jobs").status_code == 303


def test_the_kept_secret_is_made_once_and_readable_by_its_owner_alone(
    settings: Settings, person: Callable[..., Person], store: Store
) -> None:
    someone = person()
    someone.sign_in()
    assert settings.data_dir is not None
    file = Path(settings.data_dir) / "session-secret"
    assert file.stat().st_mode & 0o077 == 0
    other_process = create_app(settings, store).test_client()
    cookie = someone.client.get_cookie("lapwise_session")
    assert cookie is not None
    other_process.set_cookie("lapwise_session", cookie.value)
    assert other_process.get("/jobs").status_code == 200
