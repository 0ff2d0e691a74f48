"""Over HTTP, with the worker's own code: alternatives offered, chosen, and followed by orders, ledger and stock."""

# ruff: noqa: F811 - fixtures are named by arguments
from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import select

from service.api.examples import JOB
from service.records.store import Store
from service.records.tables import HookDelivery
from tests.service.api.office import Office
from tests.service.api.test_finishing import put_on_hand, stock
from tests.service.api.test_money import OfficeOf, Work, app, planned, quoted, work  # noqa: F401 - fixtures

OWN_COLLARS = {
    "name": "Collars brought and fitted by your trades",
    "code": "own-collars",
    "collars": "by_others",
}
BLOWN_IN = {"name": "Insulation blown in later", "fixing": "blown_in", "description": "Fixed closer."}
SCAFFOLD = {"name": "Scaffold by us", "access_charge": "300.00"}
LADDER = {"name": "Small platforms by us", "access_charge": "80.00"}
ALL_FOUR = [OWN_COLLARS, BLOWN_IN, SCAFFOLD, LADDER]


@pytest.fixture
def quote(office: Office, planned: str, work: Work) -> dict[str, Any]:
    """Issued, with alternatives of every kind."""
    return quoted(office, planned, work, alternatives=ALL_FOUR)


def with_options(office: Office, job: str, work: Work, **options: str) -> dict[str, Any]:
    return quoted(office, job, work, options=options)


def test_alternatives_wait_for_a_worker_who_prices_every_choice(
    office: Office, planned: str, work: Work
) -> None:
    made = office.post(f"/v1/jobs/{planned}/quotes", {"alternatives": ALL_FOUR})
    assert (made.status_code, made.json["pricing"], made.json["combinations"]) == (202, "queued", [])
    assert [one["net_difference"] for one in made.json["alternatives"]] == [None] * 4
    work()
    quote = office.get(f"/v1/quotes/{made.json['id']}").json
    assert quote["state"] == "issued"
    assert quote["price"] == office.get(f"/v1/jobs/{planned}/plan").json["price"]
    assert [one["code"] for one in quote["alternatives"]] == ["own-collars", "a", "b", "c"]
    assert [one["excludes"] for one in quote["alternatives"]] == [[], [], ["c"], ["b"]]
    assert len(quote["combinations"]) == 11
    prices = {",".join(one["chosen"]): one["price"] for one in quote["combinations"]}
    for one in quote["alternatives"]:
        for figure in ("net", "total"):
            alone = Decimal(prices[one["code"]][figure]) - Decimal(quote["price"][figure])
            assert Decimal(one[f"{figure}_difference"]) == alone != 0
    separate = with_options(
        office, planned, work, collars="by_others", fixing="blown_in", access_charge="300.00"
    )
    assert prices["own-collars,a,b"] == separate["price"]
    assert (quote["chosen"], quote["agreed_price"]) == (None, None)


def test_an_alternative_that_changes_nothing_is_refused_where_it_stands(office: Office, planned: str) -> None:
    def pointers(**wish: object) -> list[str]:
        answer = office.post(f"/v1/jobs/{planned}/quotes", wish)
        assert (answer.status_code, answer.json["code"]) == (422, "bad_input"), answer.text
        return [fault["pointer"] for fault in answer.json["errors"]]

    in_place = {"name": "Insulation in place", "fixing": "in_place"}  # as the job was measured
    none = {"name": "No platforms", "access_charge": "0.00"}  # as the price book has it
    assert pointers(alternatives=[BLOWN_IN, in_place, none]) == ["/alternatives/1", "/alternatives/2"]
    assert pointers(options={"collars": "by_others"}, alternatives=[OWN_COLLARS]) == ["/alternatives/0"]
    assert pointers(alternatives=[OWN_COLLARS, {**BLOWN_IN, "code": "own-collars"}]) == [
        "/alternatives/1/code"
    ]
    assert pointers(alternatives=[{**OWN_COLLARS, "fixing": "as_surveyed"}]) == ["/alternatives/0/fixing"]
    assert pointers(alternatives=[*ALL_FOUR, {**OWN_COLLARS, "code": "e"}]) == ["/alternatives"]
    assert office.get(f"/v1/jobs/{planned}/quotes").json["items"] == []


def test_a_choice_is_accepted_once_and_stands_beside_the_frozen_quote(
    office: Office, quote: dict[str, Any], planned: str, store: Store
) -> None:
    path = f"/v1/quotes/{quote['id']}"
    office.post("/v1/hooks", {"url": "https://jobs.example.com/", "events": ["quote.accepted"]})
    for chosen, pointer in (
        (["x"], "/chosen/0"),
        (["a", "b", "c"], "/chosen/2"),
        (["a", "a"], "/chosen/1"),
        (["a"] * 5, "/chosen"),
    ):
        refused = office.post(f"{path}/accept", {"chosen": chosen})
        assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, pointer)
    assert office.get(path).json["state"] == "issued"
    accepted = office.post(f"{path}/accept", {"chosen": ["b", "own-collars"]})
    assert (accepted.status_code, accepted.json["state"]) == (200, "accepted")
    assert accepted.json["chosen"] == ["own-collars", "b"]
    wanted = next(one["price"] for one in quote["combinations"] if one["chosen"] == ["own-collars", "b"])
    assert accepted.json["agreed_price"] == wanted != quote["price"]
    frozen = ("price", "alternatives", "combinations", "options", "terms", "number", "revision", "issued_on")
    assert {name: accepted.json[name] for name in frozen} == {name: quote[name] for name in frozen}
    again = office.post(f"{path}/accept", {"chosen": ["own-collars", "b"]})
    assert (again.status_code, again.headers["ETag"]) == (200, accepted.headers["ETag"])
    for body in ({"chosen": ["a"]}, {}, None):
        other = office.post(f"{path}/accept", body)
        assert (other.status_code, other.json["code"]) == (409, "chosen_otherwise")
        assert "with “Collars brought and fitted by your trades” and “Scaffold by us”" in other.json["detail"]
    with store.reading() as session:
        (told,) = session.scalars(select(HookDelivery)).all()
    assert (told.event, told.data["chosen"]) == ("quote.accepted", ["own-collars", "b"])
    parts = office.get(f"{path}/breakdown").json
    assert parts["net"] == wanted["net"]
    ledger = office.get(f"/v1/jobs/{planned}/ledger").json
    assert ledger["in_money"]["quoted_net"] == wanted["net"]
    collars = {
        one["code"] for one in office.get("/v1/price-book").json["products"] if one["kind"] == "collar"
    }
    assert not collars & {one["product"] for one in ledger["packs"]}
    assert "fit_collar" not in {one["operation"] for one in ledger["hours"]}


def test_a_quote_accepted_as_it_stands_has_chosen_nothing(office: Office, quote: dict[str, Any]) -> None:
    path = f"/v1/quotes/{quote['id']}"
    accepted = office.post(f"{path}/accept").json
    assert (accepted["chosen"], accepted["agreed_price"]) == ([], quote["price"])
    assert office.post(f"{path}/accept", {"chosen": []}).status_code == 200
    refused = office.post(f"{path}/accept", {"chosen": ["a"]})
    assert (refused.status_code, "as it stands" in refused.json["detail"]) == (409, True)


def test_what_was_chosen_is_ordered_and_what_others_bring_is_not(
    office_of: OfficeOf, office: Office, quote: dict[str, Any], planned: str, work: Work
) -> None:
    plan = office.get(f"/v1/jobs/{planned}/plan").json
    collars = {line["product"] for line in plan["order_lines"] if line["kind"] == "collar"}
    assert collars
    office.post(f"/v1/quotes/{quote['id']}/accept", {"chosen": ["own-collars", "a"]})
    orders = office.post(f"/v1/jobs/{planned}/orders").json["items"]
    ordered = {line["product"]: line for order in orders for line in order["lines"]}
    assert not collars & set(ordered)
    staples = next(line for line in plan["order_lines"] if line["kind"] == "staples")
    assert Decimal(ordered[staples["product"]]["needed"]) > Decimal(staples["needed"])
    bystander = office_of()
    other = bystander.job()
    work()
    plain = bystander.post(f"/v1/jobs/{other}/orders").json["items"]
    assert collars <= {line["product"] for order in plain for line in order["lines"]}


def test_an_accepted_quote_of_an_earlier_plan_does_not_order_for_the_present_one(
    office: Office, quote: dict[str, Any], planned: str, work: Work
) -> None:
    office.post(f"/v1/quotes/{quote['id']}/accept", {"chosen": ["own-collars"]})
    job = office.get(f"/v1/jobs/{planned}")
    changed = office.send(
        "PUT", f"/v1/jobs/{planned}", {**JOB, "title": "Two more walls"}, If_Match=job.headers["ETag"]
    )
    assert changed.status_code in (200, 202), changed.text
    work()
    orders = office.post(f"/v1/jobs/{planned}/orders").json["items"]
    assert any(line["kind"] == "collar" for order in orders for line in order["lines"])


def test_a_quote_that_leaves_collars_to_others_orders_none_once_accepted(
    office: Office, planned: str, work: Work
) -> None:
    quote = with_options(office, planned, work, collars="by_others")
    office.post(f"/v1/quotes/{quote['id']}/accept")
    orders = office.post(f"/v1/jobs/{planned}/orders").json["items"]
    assert not any(line["kind"] == "collar" for order in orders for line in order["lines"])


def test_finishing_takes_no_collars_off_stock_that_others_brought(
    office: Office, planned: str, work: Work
) -> None:
    plan = office.get(f"/v1/jobs/{planned}/plan").json
    collar = next(line["product"] for line in plan["order_lines"] if line["kind"] == "collar")
    put_on_hand(office, **{collar.replace("-", "_"): "50"})
    job = office.job(reference="STOCK")
    work()
    lines = office.get(f"/v1/jobs/{job}/plan").json["order_lines"]
    assert next(Decimal(line["from_stock"]) for line in lines if line["product"] == collar) > 0
    quote = quoted(office, job, work, alternatives=[OWN_COLLARS])
    office.post(f"/v1/quotes/{quote['id']}/accept", {"chosen": ["own-collars"]})
    before = stock(office)
    done = office.post(f"/v1/jobs/{job}/finish")
    assert done.status_code == 201, done.text
    assert collar not in {one["product"] for one in done.json["used"]}
    assert stock(office)[collar] == before[collar]


def test_a_draft_with_alternatives_is_looked_at_and_deleted_with_all_its_choices(
    office: Office, planned: str, work: Work
) -> None:
    draft = quoted(office, planned, work, alternatives=ALL_FOUR, draft=True)
    assert (draft["state"], len(draft["combinations"])) == ("draft", 11)
    gone = office.send("DELETE", f"/v1/quotes/{draft['id']}", If_Match="*")
    assert gone.status_code == 204, gone.text
    kept = quoted(office, planned, work, alternatives=ALL_FOUR)
    assert kept["number"].endswith("-0001")


def test_what_changed_in_the_alternatives_is_said_by_their_place(
    office: Office, quote: dict[str, Any], planned: str, work: Work
) -> None:
    windows = {"name": "Other collars", "collars": "by_others", "access_charge": "20"}
    dearer = {**SCAFFOLD, "access_charge": "350.00"}
    second = quoted(office, planned, work, alternatives=[OWN_COLLARS, dearer, BLOWN_IN, windows])
    found = office.get(f"/v1/quotes/{second['id']}/changes").json["others"]
    others = {one["what"]: (one["before"], one["now"]) for one in found}
    assert others["/alternatives/1/access_charge"] == ("300.00", "350.00")
    assert others["/alternatives/1/code"] == ("b", "a")
    assert others["/alternatives/1/total_difference"] == tuple(
        next(one["total_difference"] for one in body["alternatives"] if one["name"] == SCAFFOLD["name"])
        for body in (quote, second)
    )
    new = f"Other collars, total {Decimal(second['alternatives'][3]['total_difference']):+}"
    gone = f"Small platforms by us, total {Decimal(quote['alternatives'][3]['total_difference']):+}"
    assert [(one["before"], one["now"]) for one in found if one["what"] == "/alternatives/3"] == [
        ("", new),
        (gone, ""),
    ]
    assert not any(what.startswith("/alternatives/0") for what in others)
