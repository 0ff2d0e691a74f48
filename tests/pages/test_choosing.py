"""Alternatives on the pages: the office offers them, the customer ticks and accepts, and the office sees what was chosen."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
import requests

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.price import Price, is_rounded_by_line
from api_schema.problem import Fault, Problem
from api_schema.quote_wish import QuoteWish
from api_schema.shape import dump, load
from service.pages.html import money
from service.records import ledger, quote_drafts, quotes, runs
from service.records.store import Store
from tests.pages.desk import Desk
from tests.pages.person import Person
from tests.pages.rooms import ROOM
from workers.engine.plan import plan_job

WISH = {
    "alternatives": [
        {"name": "Collars by your plumber & electrician", "code": "own", "collars": "by_others"},
        {"name": "Insulation blown in later", "fixing": "blown_in", "description": "Fixed closer."},
        {"name": "Large scaffold", "access_charge": "310"},
        {"name": "Small platforms", "access_charge": "80"},
    ]
}


def asked(desk: Desk, method: str, path: str, body: Any = None) -> Any:
    headers = {"Authorization": f"Bearer {desk.key}", "Prefer": "wait=30"}
    answer = requests.request(method, desk.url + path, json=body, headers=headers, timeout=120)
    assert answer.ok, answer.text
    return answer.json()


def offered(desk: Desk, wish: dict[str, Any]) -> tuple[dict[str, Any], str]:
    """A quote of a planned room and the path of its link."""
    job = asked(desk, "POST", "/v1/jobs", ROOM)
    desk.until(lambda: asked(desk, "GET", f"/v1/jobs/{job['id']}/plan")["status"] == "ready", what="the plan")
    made = asked(desk, "POST", f"/v1/jobs/{job['id']}/quotes", wish)["id"]
    desk.until(lambda: asked(desk, "GET", f"/v1/quotes/{made}")["state"] == "issued", what="the quote")
    link = asked(desk, "POST", f"/v1/quotes/{made}/link")["url"]
    return asked(desk, "GET", f"/v1/quotes/{made}"), link.removeprefix(desk.url)


def total_of(quote: dict[str, Any], *chosen: str) -> str:
    price = next(
        (one["price"] for one in quote["combinations"] if one["chosen"] == list(chosen)), quote["price"]
    )
    return money(price["total"], price["currency"])


def tick(desk: Desk, code: str) -> None:
    """With the keyboard, as somebody without a mouse does."""
    desk.one(f'input[value="{code}"]').send_keys(" ")


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)])
def test_a_customer_ticks_sees_the_exact_total_and_accepts(
    desk_at: Callable[..., Desk], size: str, dark: bool
) -> None:
    desk = desk_at(size, dark=dark)
    quote, link = offered(desk, WISH)
    desk.open(link)
    desk.look()
    told, rows = desk.one("[data-told]"), desk.all("#price tbody")
    assert told.get_attribute("role") == "status"
    assert told.text == f"Total with nothing ticked: {total_of(quote)}, tax included"
    assert not desk.one('[value="show"]').is_displayed()
    assert desk.one("fieldset legend").text == "What you can choose"
    tick(desk, "own")
    tick(desk, "b")
    assert told.text == f"Total with what is ticked: {total_of(quote, 'own', 'b')}, tax included"
    (shown,) = [one for one in rows if one.is_displayed()]
    assert total_of(quote, "own", "b") in shown.text
    price = next(one["price"] for one in quote["combinations"] if one["chosen"] == ["own", "b"])
    assert ("rounded line by line" in shown.text) == is_rounded_by_line(load(Price, price))
    tick(desk, "c")  # sets what "b" sets
    assert not desk.one('input[value="b"]').is_selected()
    assert told.text.startswith("“Large scaffold” does not go with it and is unticked.")
    assert total_of(quote, "own", "c") in told.text
    tick(desk, "a")
    assert told.text == f"Total with what is ticked: {total_of(quote, 'own', 'a', 'c')}, tax included"
    desk.look()
    desk.one("#name").send_keys("A. Sample")
    desk.press("Accept the quote")
    desk.until(lambda: "Accepted by A. Sample" in desk.text())
    names = "“Collars by your plumber & electrician” and “Insulation blown in later” and “Small platforms”"
    assert f"with {names}" in desk.text()
    assert total_of(quote, "own", "a", "c") in desk.one("#price").text
    desk.look()
    assert desk.complaints() == []
    now = asked(desk, "GET", f"/v1/quotes/{quote['id']}")
    assert (now["state"], now["chosen"], now["answered_by"]) == ("accepted", ["own", "a", "c"], "A. Sample")
    desk.sign_in()
    desk.open(f"/jobs/{quote['job']}/quote")
    assert f"The customer chose {names}" in desk.text()
    agreed = "insulation blown in later, collars brought and fitted by the other trades, “Small platforms”"
    assert f"{agreed}. The job does not have it so yet, and the crew's papers follow the job." in desk.text()
    assert total_of(quote, "own", "a", "c") in desk.one(".facts").text
    desk.look()
    desk.open(f"/jobs/{quote['job']}/order")
    assert "As agreed in quote" in desk.text()
    assert "Collar" not in desk.one("[aria-labelledby=buy]").text
    desk.open(f"/jobs/{quote['job']}/fit")
    assert not desk.all('[name^="/used/"][value^="collar"]')
    assert desk.all('[name^="/used/"][value^="staples"]')
    assert agreed in desk.text()
    desk.press("Plan the job as agreed")
    assert "The job has what was agreed. It is being planned again." in desk.text()
    plan_path = f"/v1/jobs/{quote['job']}/plan"
    desk.until(lambda: asked(desk, "GET", plan_path)["status"] == "ready", what="the plan as agreed")
    plan = asked(desk, "GET", plan_path)
    assert (plan["revision"], not any(line["kind"] == "collar" for line in plan["order_lines"])) == (2, True)
    desk.open(f"/jobs/{quote['job']}/quote")
    assert "Revision 2 of the job has what was agreed; the crew's papers follow it." in desk.text()
    assert "does not have it so yet" not in desk.text()
    assert "Plan the job as agreed" not in [one.text for one in desk.all("button")]
    desk.look()


def test_nobody_accepts_a_price_unseen_and_it_all_works_without_a_script(
    desk_at: Callable[..., Desk],
) -> None:
    desk = desk_at()
    quote, link = offered(desk, WISH)

    def post(**form: object) -> requests.Response:
        return requests.post(desk.url + link, data=form, timeout=60, allow_redirects=False)

    shown = post(answer="show", chosen=["own", "b"], name="A. Sample")
    assert shown.status_code == 200
    assert f"Total with what is ticked: {total_of(quote, 'own', 'b')}" in shown.text
    assert 'name="shown" value="own,b"' in shown.text
    assert 'value="A. Sample"' in shown.text
    both = post(answer="accept", chosen=["b", "c"], shown="", name="A. Sample")
    assert both.status_code == 422
    assert "“Small platforms” cannot be chosen together with “Large scaffold”" in both.text
    unseen = post(answer="accept", chosen=["own"], shown="own,b", name="A. Sample")
    assert (unseen.status_code, "The price below is that of what you ticked." in unseen.text) == (422, True)
    assert f"Total with what is ticked: {total_of(quote, 'own')}" in unseen.text
    assert post(answer="accept", chosen=["x"], shown="x", name="A. Sample").status_code == 422
    assert asked(desk, "GET", f"/v1/quotes/{quote['id']}")["state"] == "issued"
    assert post(answer="accept", chosen=["own"], shown="own", name="A. Sample").status_code == 303
    assert asked(desk, "GET", f"/v1/quotes/{quote['id']}")["chosen"] == ["own"]
    again = post(answer="accept", chosen=["own"], shown="own", name="B. Sample")
    assert again.status_code == 303
    assert asked(desk, "GET", f"/v1/quotes/{quote['id']}")["answered_by"] == "A. Sample"
    other = post(answer="accept", chosen=["a"], shown="a", name="A. Sample")
    assert other.status_code == 409
    assert "accepted before, with “Collars by your plumber &amp; electrician”" in other.text
    trail = asked(desk, "GET", f"/v1/account/audit?subject={quote['id']}")["items"][0]
    assert trail["detail"] == "A. Sample, by the customer's link: Collars by your plumber & electrician"


def test_the_office_offers_alternatives_and_notes_what_was_chosen(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    job = asked(desk, "POST", "/v1/jobs", ROOM)["id"]
    desk.until(lambda: asked(desk, "GET", f"/v1/jobs/{job}/plan")["status"] == "ready", what="the plan")
    desk.open(f"/jobs/{job}/quote")
    desk.press("Alternatives for the customer to tick")
    desk.type("/alternatives/1/name", "Collars by your trades")
    desk.choose("/alternatives/1/collars", "we bring and fit them")
    desk.press("Issue the quote")
    desk.until(lambda: "so there is nothing to choose" in desk.text())
    assert desk.named("/alternatives/1/name").get_attribute("value") == "Collars by your trades"
    desk.look()
    desk.choose("/alternatives/1/collars", "by the other trades")
    desk.press("Two more")
    desk.type("/alternatives/3/name", "Platforms by us")
    desk.type("/alternatives/3/access_charge", "120,50")
    desk.press("Issue the quote")
    desk.until(lambda: desk.all('input[name="chosen"]'), what="the priced quote")
    (quote,) = asked(desk, "GET", f"/v1/jobs/{job}/quotes")["items"]
    assert [(one["code"], one["access_charge"]) for one in quote["alternatives"]] == [
        ("a", None),
        ("b", "120.50"),
    ]
    assert Decimal(quote["alternatives"][0]["net_difference"]) < 0
    asked(desk, "POST", f"/v1/jobs/{job}/orders")
    desk.until(lambda: not desk.all("[data-coming]"), what="the PDF")
    desk.look()
    tick(desk, "a")
    desk.press("Customer accepted")
    desk.until(lambda: "The customer chose “Collars by your trades”" in desk.text())
    assert asked(desk, "GET", f"/v1/quotes/{quote['id']}")["chosen"] == ["a"]
    desk.open(f"/jobs/{job}/order")
    assert "The orders above do not hold what is to be bought now" in desk.text()
    desk.look()
    assert desk.complaints() == []


def test_a_quote_that_cannot_be_priced_says_why(person: Callable[..., Person], store: Store) -> None:
    office = person()
    job = office.job()
    office.sign_in()
    book = default_price_book()
    planned = plan_job(load(Job, ROOM), default_standard(), default_outputs(), book)
    why = Problem(
        "/problems/survey", "It cannot be priced", 422, errors=(Fault("/rules", "No tape is sold."),)
    )
    with store.writing() as session:
        run = runs.queue_plan(session, office.account, job, 1)
    with store.writing() as session:
        claimed = ledger.claim(session, run.id, worker="w", lease_s=60)
        assert claimed is not None
        ledger.finish_plan(session, claimed, plan=dump(planned), drawings={})
    with store.writing() as session:
        wish = load(QuoteWish, WISH)
        quote = quote_drafts.make_quote(session, office.account, job, wish)
        basis = quotes.basis_of(session, office.account, quote.id)
        assert basis is not None
        pricing = str(basis.pricing_run_id)
    assert "Its price is being worked out" in office.client.get(f"/jobs/{job}/quote").text
    with store.writing() as session:
        claimed = ledger.claim(session, pricing, worker="w", lease_s=60)
        assert claimed is not None
        ledger.fail(session, pricing, fence=claimed.fence, problem=why)
    page = office.client.get(f"/jobs/{job}/quote").text
    assert "It could not be priced. No tape is sold." in page
    assert "data-coming" not in page
