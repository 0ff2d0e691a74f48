"""Over HTTP, with the worker's own code: several tax rates in one quote, and drafts that are changed or deleted."""

# ruff: noqa: F811 - fixtures are named by arguments
from __future__ import annotations

from decimal import Decimal

from lxml import etree

from tests.documents.test_ubl import schema
from tests.service.api.office import Office
from tests.service.api.test_money import Work, app, planned, quoted, work  # noqa: F401 - fixtures

_NAMES = {
    "c": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
    "a": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
}


def rates_in(xml: bytes) -> dict[str, tuple[str, str]]:
    root = etree.fromstring(xml)
    return {
        one.findtext("a:TaxCategory/c:ID", namespaces=_NAMES): (
            one.findtext("c:TaxableAmount", namespaces=_NAMES),
            one.findtext("c:TaxAmount", namespaces=_NAMES),
        )
        for one in root.iterfind("a:TaxTotal/a:TaxSubtotal", _NAMES)
    }


def test_a_price_books_rates_reach_the_plan_the_quote_and_its_ubl(office: Office, work: Work) -> None:
    book = office.get("/v1/price-book")
    products = [
        {**product, "tax": "zero" if product["kind"] == "staples" else None}
        for product in book.json["products"]
    ]
    changed = office.send(
        "PATCH", "/v1/price-book", {"products": products, "rules": {"labour_tax": "reduced", "discount": "0.1"}},
        If_Match=book.headers["ETag"],
    )  # fmt: skip
    assert changed.status_code == 200, changed.json
    job = office.job()
    work()
    quote = quoted(office, job, work)
    price = quote["price"]
    assert {tax["code"]: tax["rate"] for tax in price["tax"]} == {
        "standard": "0.20", "reduced": "0.05", "zero": "0",
    }  # fmt: skip
    assert sum(Decimal(tax["base"]) for tax in price["tax"]) == Decimal(price["net"])
    assert sum(line["group"] == "discount" for line in price["lines"]) == 3
    assert office.get(f"/v1/quotes/{quote['id']}/breakdown").json["tax"] == price["tax"]
    xml = office.get(f"/v1/quotes/{quote['id']}.xml").data
    schema("Quotation").assertValid(etree.fromstring(xml))
    assert rates_in(xml) == {
        category: (tax["base"], tax["amount"])
        for category, tax in zip(("S", "AA", "Z"), price["tax"], strict=True)
    }
    before = dict(quote)
    office.send("PATCH", "/v1/price-book", {"tax_rates": None, "products": book.json["products"], "rules": None},
                If_Match=changed.headers["ETag"])  # fmt: skip
    assert office.get(f"/v1/quotes/{quote['id']}").json == before


def test_a_whole_quote_may_have_one_rate_and_unknown_ones_are_named(
    office: Office,
    planned: str,
    work: Work,
) -> None:
    quote = quoted(office, planned, work, options={"tax": "reduced"})
    assert [tax["code"] for tax in quote["price"]["tax"]] == ["reduced"]
    refused = office.post(f"/v1/jobs/{planned}/quotes", {"options": {"tax": "none", "access_tax": "other"}})
    assert refused.status_code == 422
    assert [fault["pointer"] for fault in refused.json["errors"]] == ["/options/tax", "/options/access_tax"]


def test_a_book_names_no_rate_it_does_not_have(office: Office) -> None:
    book = office.get("/v1/price-book")
    rates = [
        {"code": "reduced", "name": "reduced", "rate": "0.05", "category": "Z"},
        {"code": "standard", "name": "standard", "rate": "0.2", "category": "S"},
        {"code": "none", "name": "none", "rate": "0", "category": "AA"},
    ]
    refused = office.send(
        "PATCH", "/v1/price-book", {"tax_rates": rates, "rules": {"travel_tax": "other"}}, If_Match=book.headers["ETag"]
    )  # fmt: skip
    assert {fault["pointer"] for fault in refused.json["errors"]} == {
        "/tax_rates/0/rate", "/tax_rates/1/code", "/tax_rates/2/category", "/rules/travel_tax",
    }  # fmt: skip


def test_rates_come_and_go_with_the_table_and_a_bad_one_is_named(office: Office) -> None:
    read = office.get("/v1/price-book.csv")
    lines = read.data.decode("utf-8-sig").splitlines()
    assert lines[0].endswith(",tax")
    with_rates = "\n".join([lines[0], lines[1] + "reduced", lines[2] + "other", *lines[3:]])
    refused = office.send(
        "PUT",
        "/v1/price-book.csv",
        with_rates.encode(),
        Content_Type="text/csv",
        If_Match=read.headers["ETag"],
    )
    assert "/rows/3/tax" in {fault["pointer"] for fault in refused.json["errors"]}, refused.json
    good = with_rates.replace("other", "reduced")
    stored = office.send(
        "PUT", "/v1/price-book.csv", good.encode(), Content_Type="text/csv", If_Match=read.headers["ETag"]
    )
    assert stored.json["products"][0]["tax"] == "reduced"
    assert office.get("/v1/price-book.csv").data.decode("utf-8-sig").splitlines()[1].endswith(",reduced")


def test_a_draft_quote_is_deleted_and_an_issued_one_is_kept(office: Office, planned: str, work: Work) -> None:
    waiting = office.post(f"/v1/jobs/{planned}/quotes", {"options": {"discount": "0.1"}}).json["id"]
    path = f"/v1/quotes/{waiting}"
    assert office.send("DELETE", path).status_code == 428
    assert office.send("DELETE", path, If_Match='"other"').status_code == 412
    assert office.send("DELETE", path, If_Match=office.get(path).headers["ETag"]).status_code == 204
    assert office.get(path).status_code == 404
    work()  # its pricing was given up
    issued = quoted(office, planned, work)
    assert (issued["number"][-5:], issued["revision"]) == ("-0001", 1)
    refused = office.send("DELETE", f"/v1/quotes/{issued['id']}", If_Match="*")
    assert (refused.status_code, refused.json["code"]) == (409, "quote_frozen")
    assert issued["number"] in refused.json["detail"]


def test_a_draft_order_is_changed_with_its_papers_and_deleted(
    office: Office, planned: str, work: Work
) -> None:
    first = office.post(f"/v1/jobs/{planned}/orders").json["items"][0]
    path = f"/v1/orders/{first['id']}"
    assert Decimal(first["total"]) == Decimal(first["net"]) + sum(Decimal(t["amount"]) for t in first["tax"])
    work()
    read = office.get(path)
    edit = {"deliver_to": ["9 Sample Lane"], "deliver_on": "2026-12-04", "notes": "Ring first."}
    assert office.send("PATCH", path, edit).status_code == 428
    changed = office.send("PATCH", path, edit, If_Match=read.headers["ETag"])
    assert (changed.status_code, changed.json["document"]) == (200, None)
    assert {name: changed.json[name] for name in edit} == edit
    assert office.send("PATCH", path, {"notes": "x"}, If_Match=read.headers["ETag"]).status_code == 412
    work()
    xml = office.get(f"{path}.xml").data
    schema("Order").assertValid(etree.fromstring(xml))
    assert b"Ring first." in xml
    assert b"9 Sample Lane" in xml
    assert rates_in(xml) == {"S": (first["net"], first["tax"][0]["amount"])}
    emptied = office.send("PATCH", path, {"deliver_on": None, "notes": None}, If_Match="*")
    assert (emptied.json["deliver_on"], emptied.json["notes"]) == (None, "")
    assert office.send("PATCH", path, {"net": "1"}, If_Match="*").status_code == 422
    assert office.send("DELETE", path, If_Match="*").status_code == 204
    assert office.get(path).status_code == 404
    assert office.get(f"/v1/documents/{read.json['document']}").status_code == 404
    work()
    others = office.get(f"/v1/jobs/{planned}/orders").json["items"]
    if others:
        office.post(f"/v1/orders/{others[0]['id']}/send")
        sent = f"/v1/orders/{others[0]['id']}"
        assert office.send("PATCH", sent, {"notes": "x"}, If_Match="*").json["code"] == "order_moved_on"
        assert office.send("DELETE", sent, If_Match="*").json["code"] == "order_moved_on"
