"""What follows a plan: quotes, orders, their documents, and the hours it took."""

import hashlib
from collections.abc import Callable
from decimal import Decimal

import pytest

from service.records import documents
from service.records.store import Store
from tests.service.api.office import Office

PlanNow = Callable[[Office, str], None]


@pytest.fixture
def planned(office: Office, plan_now: PlanNow) -> str:
    job = office.job()
    plan_now(office, job)
    return job


def test_nothing_is_quoted_or_ordered_before_the_plan_is_ready(office: Office) -> None:
    job = office.job()
    for path in ("quotes", "orders"):
        answer = office.post(f"/v1/jobs/{job}/{path}")
        assert (answer.status_code, answer.json["code"], answer.headers["Retry-After"]) == (
            409,
            "plan_not_ready",
            "1",
        )
        assert "Revision 1" in answer.json["detail"]


def test_a_quote_is_numbered_dated_and_carries_the_plans_price(office: Office, planned: str) -> None:
    made = office.post(f"/v1/jobs/{planned}/quotes")
    assert made.status_code == 201
    quote = made.json
    assert made.headers["Location"] == f"/v1/quotes/{quote['id']}"
    assert (quote["number"][5:], quote["revision"], quote["state"], quote["document"]) == (
        "0001",
        1,
        "issued",
        None,
    )
    assert quote["price"] == office.get(f"/v1/jobs/{planned}/plan").json["price"]
    lines = sum(Decimal(line["amount"]) for line in quote["price"]["lines"])
    assert lines == Decimal(quote["price"]["net"])
    read = office.get(f"/v1/quotes/{quote['id']}")
    assert read.json == quote
    assert read.headers["ETag"] == made.headers["ETag"]


def test_a_second_quote_is_a_further_revision_that_replaces_the_first(office: Office, planned: str) -> None:
    first = office.post(f"/v1/jobs/{planned}/quotes").json
    second = office.post(f"/v1/jobs/{planned}/quotes").json
    assert (second["number"], second["revision"]) == (first["number"], 2)
    listed = office.get(f"/v1/jobs/{planned}/quotes").json["items"]
    assert [(quote["revision"], quote["state"]) for quote in listed] == [(2, "issued"), (1, "superseded")]
    refused = office.post(f"/v1/quotes/{first['id']}/accept")
    assert (refused.status_code, refused.json["code"]) == (409, "quote_not_open")


@pytest.mark.parametrize(
    ("verb", "state", "other"), [("accept", "accepted", "decline"), ("decline", "declined", "accept")]
)
def test_a_quote_is_answered_once(office: Office, planned: str, verb: str, state: str, other: str) -> None:
    quote = office.post(f"/v1/jobs/{planned}/quotes").json
    path = f"/v1/quotes/{quote['id']}"
    assert quote["links"][verb] == f"{path}/{verb}"
    assert office.post(f"{path}/{verb}", If_Match='"stale"').status_code == 412
    answered = office.post(f"{path}/{verb}", If_Match=office.get(path).headers["ETag"])
    assert (answered.status_code, answered.json["state"]) == (200, state)
    assert verb not in answered.json["links"]
    assert office.post(f"{path}/{verb}").json == answered.json
    assert office.post(f"{path}/{other}").status_code == 409


def test_orders_are_made_once_for_each_supplier(office: Office, planned: str) -> None:
    made = office.post(f"/v1/jobs/{planned}/orders")
    assert made.status_code == 201
    orders = made.json["items"]
    plan = office.get(f"/v1/jobs/{planned}/plan").json
    wanted = [line for line in plan["order_lines"] if line["packs"] > 0]
    assert sorted(line["product"] for order in orders for line in order["lines"]) == sorted(
        line["product"] for line in wanted
    )
    assert len({order["supplier"]["code"] for order in orders}) == len(orders)
    for order in orders:
        assert sum(Decimal(line["price"]) for line in order["lines"]) == Decimal(order["net"])
        assert office.get(f"/v1/orders/{order['id']}").json == order
    assert office.post(f"/v1/jobs/{planned}/orders").json == made.json
    assert office.get(f"/v1/jobs/{planned}/orders").json["items"] == orders[::-1]


def test_a_document_is_fetched_with_its_hash_and_a_sensible_name(
    office: Office, planned: str, store: Store
) -> None:
    quote = office.post(f"/v1/jobs/{planned}/quotes").json
    content = b"%PDF-1.7 bytes that are stored and served as they are"
    with store.writing() as session:
        stored = documents.add_document(
            session, office.account, planned, kind="quote", subject_id=quote["id"],
            filename=documents.safe_name("quote", quote["number"], "1"), content=content,
        )  # fmt: skip
    assert office.get(f"/v1/quotes/{quote['id']}").json["document"] == stored.id
    (listed,) = office.get(f"/v1/jobs/{planned}/documents?kind=quote").json["items"]
    assert (listed["id"], listed["of"], listed["size"]) == (stored.id, quote["id"], len(content))
    others = office.get(f"/v1/jobs/{planned}/documents?kind=order")
    assert (others.json["items"], others.headers["Retry-After"]) == (
        [],
        "1",
    )  # the quote's own is being rendered
    fetched = office.get(listed["content"])
    assert fetched.data == content
    assert fetched.content_type == "application/pdf"
    assert fetched.headers["ETag"] == f'"{hashlib.sha256(content).hexdigest()}"'
    assert fetched.headers["Content-Disposition"] == f'attachment; filename="{listed["filename"]}"'
    assert fetched.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert office.get(listed["content"], If_None_Match=fetched.headers["ETag"]).status_code == 304


def test_hours_are_recorded_and_listed(office: Office, planned: str) -> None:
    hours = {
        "operations": [{"operation": "tape_lap", "hours": "2.5"}],
        "worked_on": "2026-11-25",
        "note": "cold",
    }
    made = office.post(f"/v1/jobs/{planned}/hours", hours)
    assert made.status_code == 201
    assert made.json["operations"] == [{"operation": "tape_lap", "hours": "2.5", "quantity": None}]
    assert office.get(f"/v1/jobs/{planned}/hours").json["items"] == [made.json]
    bad = office.post(
        f"/v1/jobs/{planned}/hours",
        {"operations": [{"operation": "paint", "hours": "-1"}], "worked_on": "soon"},
    )
    assert bad.status_code == 422
    assert {fault["pointer"] for fault in bad.json["errors"]} == {
        "/operations/0/operation", "/operations/0/hours", "/worked_on",
    }  # fmt: skip
