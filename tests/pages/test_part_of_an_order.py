"""Part of an order comes: the page notes it, and says what is still to come."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.records import ledger, orders, own_values, runs
from tests.pages.person import Person
from workers import tasks


def _order(someone: Person) -> tuple[str, str]:
    """A planned job, and its first order, which was sent."""
    job = someone.job()
    with someone.store.writing() as session:
        run_id = runs.queue_plan(session, someone.account, job, 1).id
    with someone.store.writing() as session:
        claimed = ledger.claim(session, run_id, worker="test", lease_s=60)
    assert claimed is not None
    tasks._plan(someone.store, claimed)
    with someone.store.writing() as session:
        order = orders.create_orders(session, someone.account, job)[0]
        orders.move_order(session, someone.account, order.id, "sent")
    return job, order.id


def _body(someone: Person, order: str) -> dict[str, Any]:
    with someone.store.reading() as session:
        return orders.get_order(session, someone.account, order).body


def test_what_came_is_noted_and_the_rest_closed(person: Callable[..., Person]) -> None:
    someone = person()
    someone.sign_in()
    job, order = _order(someone)
    page = f"/jobs/{job}/order"
    line = _body(someone, order)["lines"][0]
    shown = someone.client.get(page).text
    assert "Only a part came" in shown
    assert f"{line['packs']} pack" in shown

    def send(**fields: str) -> Any:
        return someone.client.post(f"/orders/{order}/part", data={"csrf": someone.token(page), **fields})

    for wrong in ("a few", "999"):
        refused = send(**{"do": "part", "came-0": wrong})
        assert refused.status_code == 422
        assert 'role="alert"' in refused.text
        assert _body(someone, order)["state"] == "sent"
    assert send(**{"do": "part", "came-0": "1"}).status_code == 303
    assert _body(someone, order)["came"] == [
        {"product": line["product"], "pack_size": line["pack_size"], "packs": 1}
    ]
    assert send(do="close").status_code == 303
    assert _body(someone, order)["state"] == "received"
    with someone.store.reading() as session:
        book = own_values.get_value(session, someone.account, "price_book").body
    on_hand = {product["code"]: product["on_hand"] for product in book["products"]}
    assert on_hand[line["product"]] == line["pack_size"]
    assert "Only a part came" not in someone.client.get(page).text
