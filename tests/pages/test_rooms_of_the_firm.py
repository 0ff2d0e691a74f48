"""Price tables, price levels, offcuts, the logo and the audit trail: the real application, without a browser."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pytest

from service.records import accounts, own_values
from service.sheets import csv_file, xlsx_file
from tests.pages.firm import logo
from tests.pages.person import Person

_ETAG = re.compile(r'name="etag" value="([^"]+)"')
_KEPT = re.compile(r'name="kept" value="([^"]+)"')


def _book(someone: Person) -> dict[str, Any]:
    with someone.store.reading() as session:
        return own_values.get_value(session, someone.account, "price_book").body


def _send_table(someone: Person, content: bytes, name: str = "prices.csv", **told: str) -> Any:
    token = someone.token("/price-book/table")
    sent = {"csrf": token, "do": "look", "file": (io.BytesIO(content), name), **told}
    return someone.client.post("/price-book/table", data=sent, content_type="multipart/form-data")


def _first(groups: re.Pattern[str], page: str) -> str:
    found = groups.search(page)
    assert found is not None
    return found[1]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_table_sent_back_shows_what_it_would_change_and_changes_it_once_told(
    person: Callable[..., Person], kind: str
) -> None:
    someone = person()
    someone.sign_in()
    kept = someone.client.get(f"/price-book/table.{kind}")
    assert kept.headers["Content-Disposition"] == f'attachment; filename="price-book.{kind}"'
    file = csv_file if kind == "csv" else xlsx_file
    heading, first, *rest = list(file.read(kept.data))
    price = heading.index("pack_price")
    before, first[price] = first[price], "123.45"
    gone = rest[-1]
    shown = _send_table(someone, file.written([first, *rest[:-1]]), f"prices.{kind}")
    assert shown.status_code == 200
    assert "What it would change" in shown.text
    assert f"{before} → <b>123.45</b>" in shown.text
    assert gone[heading.index("name")] in shown.text
    assert "Nothing is changed yet" in shown.text
    assert _book(someone)["products"][0]["packs"][0]["price"] == before

    applied = someone.client.post(
        "/price-book/table",
        data={
            "csrf": someone.token("/price-book/table"), "do": "apply", "etag": _first(_ETAG, shown.text),
            "kept": _first(_KEPT, shown.text),
        },
    )  # fmt: skip
    assert applied.status_code == 303, applied.text
    products = _book(someone)["products"]
    assert products[0]["packs"][0]["price"] == "123.45"
    assert gone[heading.index("code")] not in {product["code"] for product in products}


def test_every_bad_row_of_a_table_is_named_and_nothing_is_changed(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    before = _book(someone)
    rows = list(csv_file.read(someone.client.get("/price-book/table.csv").data))
    rows[1][rows[0].index("pack_price")] = "dear"
    rows[4][rows[0].index("name")] = ""
    shown = _send_table(someone, csv_file.written(rows[1:]))
    assert shown.status_code == 422
    assert "Nothing was changed: 2 places" in shown.text
    found = re.findall(
        r'<th scope="row" class="n">(?:<span[^>]*>Row </span>)?(\w+)</th><td>([^<]*)</td>', shown.text
    )
    assert found == [("2", "pack price"), ("5", "name")]
    assert _book(someone) == before
    assert "The file is empty" in _send_table(someone, b"").text


def test_the_page_says_how_a_table_was_read_before_its_prices_are_used(
    person: Callable[..., Person],
) -> None:
    someone = person()
    someone.sign_in()
    with someone.store.writing() as session:
        account = accounts.get_account(session, someone.account)
        german = {**account.profile, "language": "de_DE"}
        accounts.put_profile(session, someone.account, german, if_version=account.version)
    before = _book(someone)
    assert "/price-book/table.csv?style=account" in someone.client.get("/price-book/table").text
    kept = someone.client.get("/price-book/table.csv?style=account").data
    assert b";120,00;" in kept
    table = kept.replace(b";120,00;", b";1.120;", 1).decode("utf-8-sig").encode("windows-1252")
    shown = _send_table(someone, table)
    assert shown.status_code == 200, shown.text
    assert (
        "semicolons between cells, decimal commas, points between thousands, letters as Windows-1252"
        in shown.text
    )
    assert "<td>1.120 → <b>1120</b></td>" in shown.text
    assert "120.00 → <b>1120</b>" in shown.text
    new = table.replace(
        b"\r\n", b"\r\nnew-tape;New tape;lap_tape;example-supplies;;m;60;;;;;30;17,50;;;;;\r\n", 1
    )
    assert "pack of 30: <b>17.50</b>" in _send_table(someone, new).text
    told = _send_table(someone, table, decimal_sign="point")
    assert told.status_code == 422
    assert "the file was said to have decimal points" in told.text
    assert '<option value="point" selected>' in told.text
    assert _book(someone) == before
    applied = someone.client.post(
        "/price-book/table",
        data={
            "csrf": someone.token("/price-book/table"), "do": "apply", "etag": _first(_ETAG, shown.text),
            "kept": _first(_KEPT, shown.text),
        },
    )  # fmt: skip
    assert applied.status_code == 303, applied.text
    assert _book(someone)["products"][0]["packs"][0]["price"] == "1120"


def test_a_table_looked_at_before_somebody_elses_change_is_not_applied(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    rows = list(csv_file.read(someone.client.get("/price-book/table.csv").data))
    rows[1][rows[0].index("pack_price")] = "99"
    shown = _send_table(someone, csv_file.written(rows[1:]))
    _put_offcut(someone, _book(someone)["products"][0]["code"])
    late = someone.client.post(
        "/price-book/table",
        data={
            "csrf": someone.token("/jobs"), "do": "apply", "etag": _first(_ETAG, shown.text), "kept": _first(_KEPT, shown.text),
        },
    )  # fmt: skip
    assert late.status_code == 412
    assert _book(someone)["products"][0]["packs"][0]["price"] != "99"


def _put_offcut(someone: Person, product: str, **changes: str) -> Any:
    sent = {"/product": product, "/length_mm": "4.2 m", "/width_mm": "1500", "/count": "2", **changes}
    return someone.client.post("/offcuts", data={"csrf": someone.token("/offcuts"), **sent})


def test_offcuts_are_written_on_and_noted_off_one_by_one(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    membrane = next(one["code"] for one in _book(someone)["products"] if one["kind"] == "membrane")
    assert _put_offcut(someone, membrane).status_code == 303
    size = {"product": membrane, "length_mm": 4200, "width_mm": 1500}
    assert _book(someone)["offcuts"] == [{**size, "count": 2}]
    off = {"/product": membrane, "/length_mm": "4200", "/width_mm": "1500"}
    for left in ([{**size, "count": 1}], []):
        token = someone.token("/offcuts")
        assert someone.client.post("/offcuts/off", data={"csrf": token, **off}).status_code == 303
        assert _book(someone)["offcuts"] == left
    assert someone.client.get("/offcuts").text.count("taken off,") == 2
    refused = someone.client.post("/offcuts/off", data={"csrf": someone.token("/offcuts"), **off})
    assert refused.status_code == 409
    assert "0 are on hand" in refused.text
    wrong = _put_offcut(someone, "nothing-of-ours", **{"/length_mm": "long"})
    assert wrong.status_code == 422
    assert "is not a length we can read" in wrong.text


def test_a_merchants_levels_are_written_in_hundredths_and_named_where_wrong(
    person: Callable[..., Person],
) -> None:
    merchant = person(kind="merchant")
    merchant.sign_in()
    with merchant.store.writing() as session:
        customer = accounts.create_customer(session, merchant.account, name="Example Fitters").id

    def send(**fields: str) -> Any:
        page = merchant.client.get("/price-book/levels").text
        sent = {
            "csrf": merchant.token("/price-book/levels"),
            "etag": _first(_ETAG, page),
            "do": "save",
            "/others": "",
        }
        return merchant.client.post("/price-book/levels", data=sent | fields)

    level = {"/levels/0/code": "regular", "/levels/0/name": "Regular customers", "/levels/0/change": "-8 %"}
    buys = {"/customers/0/account": customer, "/customers/0/level": "regular"}
    assert send(**level, **buys).status_code == 303
    page = merchant.client.get("/price-book/levels").text
    assert 'value="-8 %"' in page
    assert "Example Fitters" in page
    wrong = send(**level, **{**buys, "/customers/0/level": "elsewhere"})
    assert wrong.status_code == 422
    assert "elsewhere" in wrong.text
    assert 'id="at.customers.0.level" name="/customers/0/level" aria-invalid="true"' in wrong.text
    token = merchant.token("/price-book/levels")
    part = merchant.client.post("/price-book/levels", data={"csrf": token, "do": "add:/levels", **level}, headers={"X-Part": "form"})  # fmt: skip
    assert "/levels/1/code" in part.text
    assert "<html" not in part.text


def test_a_contractor_has_no_price_levels(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    answer = someone.client.get("/price-book/levels")
    assert answer.status_code == 409
    assert "Only a merchant has price levels" in answer.text
    assert "/price-book/levels" not in someone.client.get("/price-book").text


def test_a_logo_is_set_looked_at_and_taken_away(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    assert "None yet: documents show" in someone.client.get("/account").text
    assert someone.client.get("/account/logo.png").status_code == 404

    def send(content: bytes | None, **fields: str) -> Any:
        sent: dict[str, Any] = {"csrf": someone.token("/account"), "do": "set", **fields}
        if content is not None:
            sent["logo"] = (io.BytesIO(content), "mark.png")
        return someone.client.post("/account/logo", data=sent, content_type="multipart/form-data")

    assert send(logo()).status_code == 303
    assert '<img class="logo" src="/account/logo.png?' in someone.client.get("/account").text
    picture = someone.client.get("/account/logo.png")
    assert (picture.mimetype, picture.data[:4]) == ("image/png", b"\x89PNG")
    bad = send(b"no picture at all")
    assert bad.status_code == 422
    assert "The file is no PNG or JPEG" in bad.text
    assert "The file is missing" in send(None).text
    assert send(None, do="remove").status_code == 303
    assert someone.client.get("/account/logo.png").status_code == 404


def test_what_was_done_is_listed_by_what_people_call_it(person: Callable[..., Person]) -> None:
    someone, other = person(), person()
    someone.sign_in()
    membrane = next(one["code"] for one in _book(someone)["products"] if one["kind"] == "membrane")
    _put_offcut(someone, membrane)
    job = someone.job()
    someone.client.post(f"/jobs/{job}/fit", data={"csrf": someone.token(f"/jobs/{job}/fit"), "/operations/0/operation": "tape_lap", "/operations/0/hours": "2"})  # fmt: skip
    page = someone.client.get("/account/audit").text
    assert "Offcuts counted" in page
    assert f'<a href="/jobs/{job}">One room</a>' in page
    of_job = someone.client.get(f"/account/audit?subject={job}").text
    assert "Hours recorded" in of_job
    assert "Offcuts counted" not in of_job
    other.sign_in()
    assert "Hours recorded" not in other.client.get(f"/account/audit?subject={job}").text
    looker = person(scopes=("read",))
    looker.sign_in()
    assert looker.client.get("/account/audit").status_code == 403


def test_an_empty_model_is_refused_and_a_model_not_yet_read_begins_no_job(
    person: Callable[..., Person],
) -> None:
    someone = person()
    someone.sign_in()

    def send(content: bytes) -> Any:
        sent = {"csrf": someone.token("/models"), "file": (io.BytesIO(content), "plans/Plot 14.ifc")}
        return someone.client.post("/models", data=sent, content_type="multipart/form-data")

    assert send(b"").status_code == 422
    assert "The file is empty" in send(b"").text
    taken = send(b"ISO-10303-21;")
    assert taken.status_code == 303
    model = taken.headers["Location"].partition("?")[0]
    page = someone.client.get(model).text
    assert "Plot 14.ifc" in page
    assert "The model waits for its turn" in page
    assert someone.client.get(f"/jobs/new?model={model.rpartition('/')[2]}").status_code == 409
    stranger = person()
    stranger.sign_in()
    assert stranger.client.get(model).status_code == 404


def test_a_merchant_with_many_trade_customers_is_given_a_finder(person: Callable[..., Person]) -> None:
    merchant = person(kind="merchant")
    merchant.sign_in()
    assert "No trade customers yet" in merchant.client.get("/account/customers").text
    with merchant.store.writing() as session:
        for number in range(13):
            accounts.create_customer(session, merchant.account, name=f"Example Fitters {number}")
    page = merchant.client.get("/account/customers").text
    assert 'aria-controls="customers"' in page
    assert page.count('data-found="example fitters ') == 13
