"""Over HTTP, with the worker's own code: what a customer, a supplier or two people at a time may do to the money."""

# ruff: noqa: F811 - fixtures are named by arguments
from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

from flask import Flask
from lxml import etree

from api_schema.account import Profile
from api_schema.quote import Quote
from api_schema.shape import load
from tests.documents.test_ubl import schema
from tests.service.api.office import Office
from tests.service.api.test_money import Work, app, planned, work  # noqa: F401 - fixtures
from workers.documents.ubl import quotation_xml


def change_book(office: Office, **changes: Any) -> Any:
    read = office.get("/v1/price-book")
    answer = office.send("PATCH", "/v1/price-book", changes, If_Match=read.headers["ETag"])
    assert answer.status_code == 200, answer.text
    return answer.json


def test_of_answers_by_one_link_at_once_the_first_stands(app: Flask, office: Office, planned: str) -> None:
    quote = office.post(f"/v1/jobs/{planned}/quotes").json
    link = office.post(f"/v1/quotes/{quote['id']}/link").json["url"]

    def answer(turn: int) -> int:
        said = {"answer": "accept" if turn % 2 else "decline", "name": f"Sample {turn}", "shown": ""}
        return app.test_client().post(link, data=said).status_code

    with ThreadPoolExecutor(4) as pool:
        statuses = list(pool.map(answer, range(4)))
    trail = office.get(f"/v1/account/audit?subject={quote['id']}").json["items"]
    (noted,) = [one for one in trail if one["action"] in ("quote.accepted", "quote.declined")]
    now = office.get(f"/v1/quotes/{quote['id']}").json
    assert noted["action"] == f"quote.{now['state']}"
    assert noted["detail"].startswith(now["answered_by"])
    agrees = [303 if (turn % 2 == 1) == (now["state"] == "accepted") else 409 for turn in range(4)]
    assert statuses == agrees


def test_an_open_quote_of_a_removed_job_is_not_answered(office: Office, planned: str) -> None:
    quote = office.post(f"/v1/jobs/{planned}/quotes").json
    path = f"/v1/quotes/{quote['id']}"
    link = office.post(f"{path}/link").json["url"]
    job = office.get(f"/v1/jobs/{planned}")
    assert office.send("DELETE", f"/v1/jobs/{planned}", If_Match=job.headers["ETag"]).status_code == 204
    assert "opens nothing" in office.client.get(link).text
    said = {"answer": "accept", "name": "A. Sample", "shown": ""}
    assert office.client.post(link, data=said).status_code == 404
    assert [office.post(f"{path}/{verb}").status_code for verb in ("accept", "decline", "link")] == [404] * 3
    assert office.get(path).json["state"] == "issued"  # what was issued stays to be read


def test_an_answered_quote_of_a_removed_job_stays_to_be_read_by_its_link(
    office: Office, planned: str
) -> None:
    quote = office.post(f"/v1/jobs/{planned}/quotes").json
    link = office.post(f"/v1/quotes/{quote['id']}/link").json["url"]
    said = {"answer": "accept", "name": "A. Sample", "shown": ""}
    assert office.client.post(link, data=said).status_code == 303
    job = office.get(f"/v1/jobs/{planned}")
    office.send("DELETE", f"/v1/jobs/{planned}", If_Match=job.headers["ETag"])
    assert "Accepted by A. Sample" in office.client.get(link).text


def test_what_comes_of_a_product_the_book_has_no_more_is_not_lost_in_silence(
    office: Office, planned: str
) -> None:
    order = office.post(f"/v1/jobs/{planned}/orders").json["items"][0]
    path = f"/v1/orders/{order['id']}"
    office.post(f"{path}/send")
    gone, *rest = order["lines"]
    book = office.get("/v1/price-book").json
    kept = [product for product in book["products"] if product["code"] != gone["product"]]
    change_book(office, products=kept)
    refused = office.post(f"{path}/receive")
    assert (refused.status_code, refused.json["code"]) == (409, "conflict")
    assert gone["product"] in refused.json["detail"]
    assert office.get(path).json["state"] == "sent"
    came = [{name: line[name] for name in ("product", "pack_size", "packs")} for line in rest]
    closed = office.post(f"{path}/receive", {"lines": came, "rest": "not_coming"})
    assert (closed.status_code, closed.json["state"]) == (200, "received")
    on_hand = {one["code"]: Decimal(one["on_hand"]) for one in office.get("/v1/price-book").json["products"]}
    assert all(on_hand[line["product"]] > 0 for line in rest)


def test_work_that_costs_nothing_is_quoted_with_a_valid_document(office: Office, work: Work) -> None:
    book = office.get("/v1/price-book").json
    free = [
        {**product, "packs": [{**pack, "price": "0"} for pack in product["packs"]]}
        for product in book["products"]
    ]
    rules = dict.fromkeys(("labour_cost_per_h", "travel_charge", "minimum_charge"), "0")
    change_book(office, products=free, rules=rules)
    job = office.job()
    work()
    quote = office.post(f"/v1/jobs/{job}/quotes").json
    assert (quote["price"]["lines"], quote["price"]["total"]) == ([], "0.00")
    names = Quote.__dataclass_fields__
    record = load(Quote, {name: value for name, value in quote.items() if name in names})
    xml = etree.fromstring(quotation_xml(record, Profile("Example Airtight Ltd")))
    schema("Quotation").assertValid(xml)
    assert quote["title"] in "".join(xml.itertext())


def test_a_supplier_whose_draft_was_deleted_gets_a_new_one_and_the_others_stay(
    office: Office, work: Work
) -> None:
    book = office.get("/v1/price-book").json
    first = book["suppliers"][0]
    products = [
        {**one, "supplier": first["code"] if one["kind"] == "membrane" else "second"}
        for one in book["products"]
    ]
    change_book(office, products=products, suppliers=[first, {**first, "code": "second", "name": "Second"}])
    job = office.job()
    work()
    path = f"/v1/jobs/{job}/orders"
    kept, deleted = office.post(path).json["items"]
    assert office.send("DELETE", f"/v1/orders/{deleted['id']}", If_Match="*").status_code == 204
    again = office.post(path).json["items"]
    assert [one["id"] for one in office.post(path).json["items"]] == [one["id"] for one in again]
    assert again[0]["id"] == kept["id"]
    assert [(one["supplier"]["code"], one["lines"]) for one in again] == [
        (one["supplier"]["code"], one["lines"]) for one in (kept, deleted)
    ]
    trail = office.get("/v1/account/audit").json["items"]
    made = [entry["subject"] for entry in trail if entry["action"] == "order.made"]
    assert sorted(made) == sorted([kept["id"], deleted["id"], again[1]["id"]])  # each noted once


def test_orders_that_count_on_stock_of_another_job_are_refused_in_words(office: Office, work: Work) -> None:
    book = office.get("/v1/price-book").json
    stocked = [
        {**one, "on_hand": "50" if one["code"] == "membrane-1500" else "0"} for one in book["products"]
    ]
    change_book(office, products=stocked)
    first, second = office.job(reference="EX-1"), office.job(reference="EX-2")
    work()
    assert office.post(f"/v1/jobs/{first}/orders").status_code == 201
    refused = office.post(f"/v1/jobs/{second}/orders")
    assert (refused.status_code, refused.json["code"]) == (409, "stock_changed")
    assert "50 m of membrane-1500" in refused.json["detail"]
    assert "EX-1 counts on it too. Plan the job again" in refused.json["detail"]
    assert office.get(f"/v1/jobs/{second}/orders").json["items"] == []
    read = office.get(f"/v1/jobs/{second}")
    office.send("PUT", f"/v1/jobs/{second}", read.json, If_Match=read.headers["ETag"])
    work()
    bought = office.post(f"/v1/jobs/{second}/orders").json["items"]
    assert any(line["kind"] == "membrane" for order in bought for line in order["lines"])
