"""What goes wrong is said on a page to a browser, and as problem+json to a program."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from flask import Flask

from service.app import create_app
from service.records.store import Store
from service.settings import Settings
from tests.pages.person import Person

BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}


@pytest.mark.parametrize("path", ["/jbos", "/problems/none", "/assets/none.css", "/jobs/a/b/c"])
def test_a_mistyped_address_answers_a_browser_with_a_page(app: Flask, path: str) -> None:
    answer = app.test_client().get(path, headers=BROWSER)
    assert (answer.status_code, answer.mimetype) == (404, "text/html")
    assert "There is no page at this address" in answer.text
    assert 'href="/jobs"' in answer.text
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    assert answer.headers["X-Request-Id"] in answer.text


def test_what_cannot_be_done_at_a_page_says_so_and_what_can(app: Flask) -> None:
    answer = app.test_client().post("/reference", headers=BROWSER)
    assert (answer.status_code, answer.mimetype) == (405, "text/html")
    assert "That cannot be done at this address" in answer.text
    assert "GET" in answer.headers["Allow"]


@pytest.mark.parametrize(
    ("path", "accept"),
    [("/v1/jobz", BROWSER["Accept"]), ("/v1", BROWSER["Accept"]), ("/jbos", "*/*"), ("/jbos", "application/json"),
     ("/jbos", "text/html;q=0, */*"), ("/readyz/none", BROWSER["Accept"])],
)  # fmt: skip
def test_a_program_is_answered_with_a_problem(app: Flask, path: str, accept: str) -> None:
    answer = app.test_client().get(path, headers={"Accept": accept})
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
    assert answer.json["code"] == "not_found"


def test_a_file_too_large_is_refused_on_a_page(settings: Settings, person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    too_much = b"csrf=x&jobs=" + b"1" * settings.max_request_bytes
    answer = someone.client.post(
        "/batches", data=too_much, content_type="application/x-www-form-urlencoded", headers=BROWSER
    )
    assert (answer.status_code, answer.mimetype) == (413, "text/html")
    assert "That is too large" in answer.text


def test_a_form_that_is_too_old_leads_back_to_its_page(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    for path, back in (("/standard", "/standard"), ("/account/customers/add", "/account/customers")):
        answer = someone.client.post(path, data={"csrf": "of yesterday"}, headers=BROWSER)
        assert (answer.status_code, answer.mimetype) == (400, "text/html")
        assert f'href="{back}">Open the page again' in answer.text


def test_a_fault_of_ours_is_a_page_without_its_inside(settings: Settings, store: Store) -> None:
    app = create_app(settings, store)

    def broken() -> str:
        raise RuntimeError("the inside of it")

    app.add_url_rule("/broken", view_func=broken)
    answer = app.test_client().get("/broken", headers=BROWSER)
    assert (answer.status_code, answer.mimetype) == (500, "text/html")
    assert "Something went wrong on our side" in answer.text
    assert "the inside" not in answer.text
    assert app.test_client().get("/broken").mimetype == "application/problem+json"
