"""What the office does with tax rates, draft quotes and orders, on the pages and with their own buttons."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import requests

from tests.pages.desk import Desk
from tests.pages.rooms import ROOM


def _asked(desk: Desk, method: str, path: str, body: Any = None) -> Any:
    answer = requests.request(
        method,
        desk.url + path,
        json=body,
        headers={"Authorization": f"Bearer {desk.key}", "Prefer": "wait=30"},
        timeout=60,
    )
    assert answer.ok, answer.text
    return answer.json()


def _room(desk: Desk) -> str:
    made = _asked(desk, "POST", "/v1/jobs", ROOM)
    assert made["status"] == "ready", made
    return str(made["id"])


def test_a_second_tax_rate_is_made_and_named_by_a_product(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    desk.open("/price-book")
    before = len(_asked(desk, "GET", "/v1/price-book")["tax_rates"])
    desk.press("Add a tax rate")
    new = f"/tax_rates/{before}"
    desk.until(lambda: desk.all(f'[name="{new}/code"]'))
    desk.type(f"{new}/name", "Energy saving")
    desk.type(f"{new}/code", "saving")
    desk.type(f"{new}/rate", "7")
    desk.press("Save the price book")
    desk.until(lambda: desk.all("#summary"))
    assert "needs its sign: write 7 % for 7 in a hundred" in desk.text()
    desk.type(f"{new}/rate", "7 %")
    desk.press("Save the price book")
    desk.until(lambda: "Saved." in desk.text())

    desk.one('summary[id="at.products.0"]').click()
    desk.choose("/products/0/tax", "Energy saving, 7 %")
    desk.press("Save the price book")
    desk.until(lambda: "Saved." in desk.text() and not desk.all("details.product[open]"))
    book = _asked(desk, "GET", "/v1/price-book")
    made = book["tax_rates"][before]
    assert (made["code"], made["rate"], made["provenance"]) == ("saving", "0.07", "yours")
    assert [one["code"] for one in book["products"] if one["tax"] == "saving"] == [
        book["products"][0]["code"]
    ]
    job = _room(desk)
    price = _asked(desk, "GET", f"/v1/jobs/{job}/plan")["price"]
    assert {Decimal(tax["rate"]) for tax in price["tax"]} == {Decimal("0.07"), Decimal("0.20")}

    desk.open(f"/jobs/{job}/measure")
    desk.choose("/tax", "Energy saving, 7 %")
    desk.press("Save")
    desk.until(lambda: "Saved." in desk.text())
    assert _asked(desk, "GET", f"/v1/jobs/{job}")["tax"] == "saving"
    assert desk.complaints() == []


def test_a_draft_quote_is_deleted_with_its_button(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    job = _room(desk)
    desk.open(f"/jobs/{job}/quote")
    desk.press("Make a draft first")
    desk.until(lambda: "The draft was made" in desk.text())
    assert [one["state"] for one in _asked(desk, "GET", f"/v1/jobs/{job}/quotes")["items"]] == ["draft"]
    desk.press("Delete this draft")
    desk.until(lambda: "The draft was deleted" in desk.text())
    assert _asked(desk, "GET", f"/v1/jobs/{job}/quotes")["items"] == []
    assert desk.complaints() == []


def test_where_and_when_an_order_is_delivered_is_changed_on_its_page(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at("phone")
    desk.sign_in()
    job = _room(desk)
    _asked(desk, "POST", f"/v1/jobs/{job}/orders", {})
    desk.open(f"/jobs/{job}/order")
    desk.press("Change delivery and notes, or delete it")
    address = desk.labelled("Deliver to")
    address.clear()
    address.send_keys("Example Yard\n3 Sample Lane")
    desk.write_day(desk.labelled("Deliver on"), "2027-03-01")
    desk.fits()
    desk.press("Save these")
    desk.until(lambda: "The order was changed" in desk.text())
    first, *_ = _asked(desk, "GET", f"/v1/jobs/{job}/orders")["items"]
    assert first["deliver_to"] == ["Example Yard", "3 Sample Lane"]
    assert first["deliver_on"] == "2027-03-01"
    assert "Example Yard, 3 Sample Lane" in desk.text()
    assert "1 Mar 2027" in desk.text()
    assert desk.complaints() == []
