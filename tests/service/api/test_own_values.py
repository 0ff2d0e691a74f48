"""The account's standard, outputs and price book: read, changed with If-Match, made one's own."""

from collections.abc import Callable
from typing import Any

import pytest
from werkzeug.test import TestResponse

from service.api.editing import merge_patch
from tests.service.api.office import Office

_VALUES = ("/v1/standard", "/v1/outputs", "/v1/price-book")


@pytest.mark.parametrize("path", _VALUES)
def test_a_value_starts_from_the_defaults_and_is_stored_as_it_was_read(office: Office, path: str) -> None:
    read = office.get(path)
    assert read.headers["Lapwise-Source"] == "default"
    stored = office.send("PUT", path, read.json, If_Match=read.headers["ETag"])
    assert (stored.status_code, stored.json) == (200, read.json)
    assert stored.headers["Lapwise-Source"] == "own"
    assert stored.headers["ETag"] == read.headers["ETag"]


@pytest.mark.parametrize("path", _VALUES)
def test_an_edit_says_what_it_edits(office: Office, path: str) -> None:
    body = office.get(path).json
    for method in ("PUT", "PATCH"):
        answer = office.send(method, path, body)
        assert (answer.status_code, answer.json["code"]) == (428, "if_match_missing")
        answer = office.send(method, path, body, If_Match='"somebody-elses"')
        assert (answer.status_code, answer.json["code"]) == (412, "changed_meanwhile")
        assert answer.headers["ETag"] == office.get(path).headers["ETag"]
        weak = "W/" + office.get(path).headers["ETag"]
        assert office.send(method, path, body, If_Match=weak).status_code == 412
        assert office.send(method, path, body, If_Match="*").status_code == 200


@pytest.mark.parametrize("path", _VALUES)
def test_what_is_already_known_is_not_sent_again(office: Office, path: str) -> None:
    etag = office.get(path).headers["ETag"]
    answer = office.get(path, If_None_Match=f'"other", {etag}')
    assert (answer.status_code, answer.data, answer.headers["ETag"]) == (304, b"", etag)
    assert answer.headers["Cache-Control"] == "private, no-cache"


def _change(office: Office, path: str, patch: dict[str, Any]) -> dict[str, Any]:
    answer = office.send("PATCH", path, patch, If_Match=office.get(path).headers["ETag"])
    assert answer.status_code == 200, answer.text
    return dict(answer.json)


def test_a_changed_value_of_the_standard_becomes_yours_and_null_puts_it_back(office: Office) -> None:
    def source(standard: dict[str, Any], name: str) -> str:
        return str(next(entry["kind"] for entry in standard["provenance"] if entry["of"] == name))

    before = office.get("/v1/standard").json
    after = _change(office, "/v1/standard", {"lap_mm": "12 cm", "tape_waste": "0.07"})
    assert (after["lap_mm"], after["tape_waste"]) == (120, "0.07")
    assert {name: after[name] for name in after if name not in ("lap_mm", "tape_waste", "provenance")} == {
        name: before[name] for name in before if name not in ("lap_mm", "tape_waste", "provenance")
    }
    assert source(before, "lap_mm") == "common practice"
    assert (source(after, "lap_mm"), source(after, "tape_waste")) == ("yours", "yours")
    assert source(after, "end_lap_mm") == source(before, "end_lap_mm")
    assert _change(office, "/v1/standard", {"lap_mm": None})["lap_mm"] == before["lap_mm"]


def test_changed_outputs_and_prices_become_yours_one_by_one(office: Office) -> None:
    outputs = office.get("/v1/outputs").json
    operations = [{**output, "likely_minutes": output["high_minutes"]} if output["operation"] == "tape_lap" else output
                  for output in outputs["operations"]]  # fmt: skip
    after = _change(office, "/v1/outputs", {"operations": operations})
    sources = {output["operation"]: output["provenance"] for output in after["operations"]}
    assert sources["tape_lap"] == "yours"
    assert all(output["provenance"] == sources[output["operation"]] for output in outputs["operations"]
               if output["operation"] != "tape_lap")  # fmt: skip

    book = office.get("/v1/price-book").json
    dearer = [dict(product) for product in book["products"]]
    dearer[0] = {**dearer[0], "packs": [{**dearer[0]["packs"][0], "price": "199.00"}]}
    after = _change(office, "/v1/price-book", {"products": dearer, "rules": {"labour_cost_per_h": "31.50"}})
    assert [product["provenance"] for product in after["products"]] == ["yours"] + [
        product["provenance"] for product in book["products"][1:]
    ]
    assert (after["rules"]["provenance"], after["rules"]["labour_cost_per_h"]) == ("yours", "31.50")
    assert after["rules"]["overhead"] == book["rules"]["overhead"]


def test_faults_of_a_price_book_are_all_named(office: Office) -> None:
    book = office.get("/v1/price-book").json
    product = book["products"][0]
    bad = {
        **book,
        "products": [
            {**product, "supplier": "nobody"},
            {**product, "kind": "membrane", "width_mm": None},
            {**product, "code": "c", "kind": "collar", "unit": "piece", "smallest_mm": 60, "largest_mm": 40},
        ],
        "offcuts": [{"product": "nothing", "length_mm": 4000, "width_mm": 1500}],
    }
    answer = office.send("PUT", "/v1/price-book", bad, If_Match="*")
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == [
        "/products/1/code", "/products/0/supplier", "/products/1/width_mm", "/products/2/smallest_mm",
        "/offcuts/0/product",
    ]  # fmt: skip


def test_outputs_upside_down_are_refused(office: Office) -> None:
    outputs = office.get("/v1/outputs").json
    outputs["operations"][1]["low_minutes"] = "999"
    answer = office.send("PUT", "/v1/outputs", outputs, If_Match="*")
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["/operations/1/likely_minutes"]


@pytest.mark.parametrize("number", [5.0625234592e-26, "1e-40", "0." + "0" * 28 + "123"])
def test_a_number_that_cannot_be_read_back_is_not_stored(office: Office, number: object) -> None:
    answer = office.send("PATCH", "/v1/price-book", {"rules": {"contingency": number}}, If_Match="*")
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["/rules/contingency"]
    assert office.get("/v1/price-book").headers["Lapwise-Source"] == "default"


def test_a_patch_of_the_wrong_kind_is_refused(office: Office) -> None:
    answer = office.send(
        "PATCH", "/v1/standard", {"lap_mm": 120}, If_Match="*", Content_Type="application/json"
    )
    assert (answer.status_code, answer.headers["Accept-Patch"]) == (415, "application/merge-patch+json")
    wrong = office.send("PATCH", "/v1/standard", {"lap_mm": 1, "lap": 2, "provenance": "mine"}, If_Match="*")
    assert {fault["pointer"] for fault in wrong.json["errors"]} == {"/lap_mm", "/lap", "/provenance"}


def test_customers_buy_from_their_merchants_price_book_until_they_have_their_own(
    office_of: Callable[..., Office],
) -> None:
    merchant = office_of(kind="merchant", name="Example Supplies")
    customer = merchant.post("/v1/account/customers", {"name": "Example Lining Ltd"}).json["id"]
    _change(merchant, "/v1/price-book", {"rules": {"travel_charge": "33.00"}})
    seen = merchant.get("/v1/price-book", Act_For=customer)
    assert (seen.headers["Lapwise-Source"], seen.json["rules"]["travel_charge"]) == ("merchant", "33.00")
    own = merchant.send(
        "PATCH",
        "/v1/price-book",
        {"rules": {"travel_charge": "5.00"}},
        If_Match=seen.headers["ETag"],
        Act_For=customer,
    )
    assert (own.status_code, own.headers["Lapwise-Source"]) == (200, "own")
    assert merchant.get("/v1/price-book").json["rules"]["travel_charge"] == "33.00"


def test_the_profile_is_changed_piece_by_piece_but_never_its_kind(office: Office) -> None:
    etag = office.get("/v1/account").headers["ETag"]
    changed = office.send(
        "PATCH", "/v1/account", {"terms": "14 days.", "address": ["3 Sample Yard"]}, If_Match=etag
    )
    assert (changed.status_code, changed.json["terms"], changed.json["name"]) == (
        200,
        "14 days.",
        "Example Airtight Ltd",
    )
    assert office.send("PATCH", "/v1/account", {"terms": "x"}, If_Match=etag).status_code == 412
    for patch in (
        {"kind": "merchant"},
        {"id": "acc_1"},
        {"merchant": "acc_1"},
        {"created_at": None, "name": None},
    ):
        answer = office.send("PATCH", "/v1/account", patch, If_Match="*")
        assert answer.status_code == 422, patch
    assert office.get("/v1/account").json == changed.json


@pytest.mark.parametrize(
    ("target", "patch", "result"),
    [
        # RFC 7396, appendix A
        ({"a": "b"}, {"a": "c"}, {"a": "c"}),
        ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
        ({"a": "b"}, {"a": None}, {}),
        ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
        ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
        ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
        ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
        ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
        (["a", "b"], ["c", "d"], ["c", "d"]),
        ({"a": "b"}, ["c"], ["c"]),
        ({"a": "foo"}, None, None),
        ({"a": "foo"}, "bar", "bar"),
        ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
        ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
        ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
    ],
)
def test_merge_patches_do_what_rfc_7396_shows(target: Any, patch: Any, result: Any) -> None:
    assert merge_patch(target, patch) == result


def test_an_account_has_the_currency_of_its_prices(office: Office) -> None:
    def change(path: str, patch: dict[str, object]) -> TestResponse:
        return office.send("PATCH", path, patch, If_Match=office.get(path).headers["ETag"])

    assert change("/v1/account", {"currency": "CHF"}).json["currency"] == "CHF"
    assert office.get("/v1/price-book").json["currency"] == "CHF"  # the defaults, whose prices are invented
    assert change("/v1/price-book", {"rules": {"travel_charge": "20.00"}}).json["currency"] == "CHF"
    refused = change("/v1/account", {"currency": "JPY"})
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, "/currency")
    before = office.get("/v1/account").headers["ETag"]
    assert change("/v1/price-book", {"currency": "JPY"}).status_code == 200
    shown = office.get("/v1/account")
    assert shown.json["currency"] == "JPY"
    assert shown.headers["ETag"] != before
    assert change("/v1/account", {"currency": "JPY", "phone": "+00 1"}).status_code == 200


def test_a_currency_that_is_none_is_refused(office: Office) -> None:
    for path in ("/v1/account", "/v1/price-book"):
        answer = office.send("PATCH", path, {"currency": "ERU"}, If_Match=office.get(path).headers["ETag"])
        assert (answer.status_code, answer.json["errors"][0]["pointer"]) == (422, "/currency")


def test_a_language_nobody_knows_the_numbers_of_is_refused(office: Office) -> None:
    for language, status in (("zz_ZZ", 422), ("de_XX", 422), ("de", 200), ("sv_SE", 200)):
        read = office.get("/v1/account")
        answer = office.send("PATCH", "/v1/account", {"language": language}, If_Match=read.headers["ETag"])
        assert answer.status_code == status, language


def test_a_trade_customer_has_its_merchants_currency(office_of: Callable[..., Office]) -> None:
    merchant = office_of(name="Example Supplies", kind="merchant")
    customer = merchant.post("/v1/account/customers", {"name": "Example One"}).json["id"]
    read = merchant.get("/v1/account")
    merchant.send("PATCH", "/v1/account", {"currency": "SEK"}, If_Match=read.headers["ETag"])
    seen = merchant.get("/v1/account", Act_For=customer)
    assert seen.json["currency"] == merchant.get("/v1/price-book", Act_For=customer).json["currency"] == "SEK"
    refused = merchant.send(
        "PATCH", "/v1/account", {"currency": "EUR"}, If_Match=seen.headers["ETag"], Act_For=customer
    )
    assert "your merchant's price book" in refused.json["errors"][0]["detail"]


def test_a_crew_that_was_changed_is_the_accounts_own(office: Office) -> None:
    read = office.get("/v1/outputs")
    changed = office.send("PATCH", "/v1/outputs", {"crew_size": 3}, If_Match=read.headers["ETag"]).json
    kinds = {entry["of"]: entry["kind"] for entry in changed["provenance"]}
    assert kinds == {"crew_size": "yours", "hours_per_day": "invented", "sure_share": "invented"}
    assert changed["operations"] == read.json["operations"]
