"""What a job leaves on its rolls is kept once, offered to the next, and the ledger says whence and whither."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest

from service.records import offcuts
from service.records.errors import NotPossibleNow, Stale
from service.records.store import Store
from tests.service.api.office import Office

PlanNow = Callable[[Office, str], None]
OfficeOf = Callable[..., Office]


# one strip, short enough for what the example's own job leaves
SMALL = {
    "reference": "NEXT",
    "junctions": [],
    "surfaces": [
        {
            "id": "nook",
            "kind": "wall",
            "outline_mm": [[0, 0], [3000, 0], [3000, 1200], [0, 1200]],
            "members": {"direction": "up", "centres_mm": 400},
            "edges": [{"edge": edge, "finish": "timber"} for edge in range(4)],
        }
    ],
}


def planned(office: Office, plan_now: PlanNow, **changes: Any) -> tuple[str, dict[str, Any]]:
    job = office.job(**changes)
    plan_now(office, job)
    return job, office.get(f"/v1/jobs/{job}/plan").json["cut_list"]


def on_hand(office: Office) -> dict[str, Any]:
    book = office.get("/v1/price-book").json
    return {
        "offcuts": sorted((one["product"], one["length_mm"], one["width_mm"], one["count"]) for one in book["offcuts"]),
        "metres": {p["code"]: Decimal(p["on_hand"]) for p in book["products"] if p["kind"] == "membrane"},
    }  # fmt: skip


def test_what_a_job_leaves_is_offered_to_the_next_and_the_ledger_says_so(
    office: Office, plan_now: PlanNow
) -> None:
    first, cut_list = planned(office, plan_now)
    assert cut_list["kept"]
    answer = office.post(f"/v1/jobs/{first}/offcuts")
    assert answer.status_code == 201
    kept = [(one["product"], one["length_mm"], one["width_mm"]) for one in answer.json["kept"]]
    assert sorted(kept) == sorted(
        (one["product"], one["length_mm"], one["width_mm"]) for one in cut_list["kept"]
    )
    assert {one["from_job"] for one in answer.json["kept"]} == {first}
    assert sum(one[3] for one in on_hand(office)["offcuts"]) == len(kept)

    second, again = planned(office, plan_now, **SMALL)
    used = [
        (roll["product"], roll["length_mm"], roll["width_mm"])
        for roll in again["rolls"]
        if roll["from_stock"]
    ]
    assert used
    assert set(used) <= set(kept)
    answer = office.post(f"/v1/jobs/{second}/offcuts", {"keep": []})
    assert answer.status_code == 201
    assert answer.json["kept"] == []
    assert sorted(
        (one["product"], one["length_mm"], one["width_mm"]) for one in answer.json["used"]
    ) == sorted(used)
    assert sum(one[3] for one in on_hand(office)["offcuts"]) == len(kept) - len(used)

    ledger = office.get("/v1/offcuts").json["items"]
    assert len(ledger) == len(kept)
    gone = [one for one in ledger if one["used_by_job"]]
    assert [(one["from_job"], one["used_by_job"]) for one in gone] == [(first, second)] * len(used)
    assert all(one["used_at"] for one in gone)


def test_a_plan_is_settled_once(office: Office, plan_now: PlanNow) -> None:
    job, _ = planned(office, plan_now)
    assert office.post(f"/v1/jobs/{job}/offcuts", {"keep": [0]}).status_code == 201
    before = on_hand(office)
    answer = office.post(f"/v1/jobs/{job}/offcuts")
    assert (answer.status_code, answer.json["code"]) == (409, "already_settled")
    assert on_hand(office) == before
    assert len(office.get("/v1/offcuts").json["items"]) == 1


def test_a_place_that_is_not_there_changes_nothing(office: Office, plan_now: PlanNow) -> None:
    job, cut_list = planned(office, plan_now)
    answer = office.post(f"/v1/jobs/{job}/offcuts", {"keep": [0, len(cut_list["kept"])]})
    assert (answer.status_code, answer.json["code"]) == (409, "no_such_offcut")
    assert office.get("/v1/offcuts").json["items"] == []
    assert office.post(f"/v1/jobs/{job}/offcuts", {"keep": [0, 0]}).status_code == 201  # nothing was settled
    assert len(office.get("/v1/offcuts").json["items"]) == 1


def test_offcuts_written_into_the_price_book_are_taken_off_and_named_in_the_ledger(
    office: Office, plan_now: PlanNow
) -> None:
    book = office.get("/v1/price-book")
    (code, width), *_ = [
        (one["product"], one["width_mm"]) for one in planned(office, plan_now, reference="TRY")[1]["rolls"]
    ]
    changed = office.send(
        "PATCH", "/v1/price-book",
        {"offcuts": [{"product": code, "length_mm": 30_000, "width_mm": width, "count": 2}]},
        If_Match=book.headers["ETag"],
    )  # fmt: skip
    assert changed.status_code == 200, changed.text
    job, cut_list = planned(office, plan_now)
    assert any(roll["from_stock"] for roll in cut_list["rolls"])
    done = office.post(f"/v1/jobs/{job}/offcuts", {"keep": []}).json
    assert {(one["from_job"], one["used_by_job"]) for one in done["used"]} == {(None, job)}
    assert sum(one[3] for one in on_hand(office)["offcuts"]) == 2 - len(done["used"])


def test_an_offcut_gone_meanwhile_is_said_and_nothing_is_half_done(office: Office, plan_now: PlanNow) -> None:
    first, _ = planned(office, plan_now)
    office.post(f"/v1/jobs/{first}/offcuts")
    second, cut_list = planned(office, plan_now, **SMALL)
    assert any(roll["from_stock"] for roll in cut_list["rolls"])
    book = office.get("/v1/price-book")
    office.send("PATCH", "/v1/price-book", {"offcuts": []}, If_Match=book.headers["ETag"])
    answer = office.post(f"/v1/jobs/{second}/offcuts")
    assert (answer.status_code, answer.json["code"]) == (409, "stock_changed")
    assert on_hand(office)["offcuts"] == []
    assert all(one["used_by_job"] is None for one in office.get("/v1/offcuts").json["items"])


def test_rolls_an_order_brought_are_taken_off_again(office: Office, plan_now: PlanNow) -> None:
    job, cut_list = planned(office, plan_now)
    before = on_hand(office)["metres"]
    for order in office.post(f"/v1/jobs/{job}/orders").json["items"]:
        office.post(f"/v1/orders/{order['id']}/send")
    answer = office.post(f"/v1/jobs/{job}/offcuts")
    assert (answer.status_code, answer.json["code"]) == (409, "order_under_way")
    for order in office.get(f"/v1/jobs/{job}/orders").json["items"]:
        assert office.post(f"/v1/orders/{order['id']}/receive").status_code == 200
    came = on_hand(office)["metres"]
    done = office.post(f"/v1/jobs/{job}/offcuts").json
    bought: dict[str, Decimal] = {}
    for roll in cut_list["rolls"]:
        bought[roll["product"]] = bought.get(roll["product"], Decimal(0)) + Decimal(roll["length_mm"]) / 1000
    assert {one["product"]: Decimal(one["metres"]) for one in done["rolls"]} == bought
    after = on_hand(office)["metres"]
    assert all(came[code] - after[code] == metres for code, metres in bought.items())
    assert all(after[code] >= before[code] for code in bought)


def test_a_merchants_customer_keeps_its_own_offcuts(office_of: OfficeOf, plan_now: PlanNow) -> None:
    merchant = office_of(name="Example Supplies", kind="merchant")
    shown = merchant.get("/v1/price-book")
    book, etag = shown.json, shown.headers["ETag"]
    assert merchant.send("PUT", "/v1/price-book", book, If_Match=etag).status_code == 200
    one, other = (
        office_of(account=merchant.post("/v1/account/customers", {"name": name}).json["id"])
        for name in ("One", "Other")
    )
    job, cut_list = planned(one, plan_now)
    assert one.post(f"/v1/jobs/{job}/offcuts").status_code == 201
    assert sum(row[3] for row in on_hand(one)["offcuts"]) == len(cut_list["kept"])
    assert on_hand(other)["offcuts"] == on_hand(merchant)["offcuts"] == []
    assert other.get("/v1/offcuts").json["items"] == []
    _, again = planned(one, plan_now, **SMALL)
    assert any(roll["from_stock"] for roll in again["rolls"])


def test_two_hands_at_once_settle_a_plan_once(store: Store, office: Office, plan_now: PlanNow) -> None:
    job, cut_list = planned(office, plan_now)

    def settle() -> bool:
        try:
            with store.writing() as session:
                offcuts.settle_plan(session, office.account, job, None)
        except (NotPossibleNow, Stale):
            return False
        return True

    with ThreadPoolExecutor(4) as pool:
        done = [one.result() for one in [pool.submit(settle) for _ in range(4)]]
    assert sum(done) == 1
    assert sum(row[3] for row in on_hand(office)["offcuts"]) == len(cut_list["kept"])


def test_the_ledger_is_read_page_by_page(office: Office, plan_now: PlanNow) -> None:
    for number in range(3):
        job, _ = planned(office, plan_now, reference=f"J{number}")
        office.post(f"/v1/jobs/{job}/offcuts")
    everything = [one["id"] for one in office.get("/v1/offcuts").json["items"]]
    assert len(everything) >= 2
    page = office.get("/v1/offcuts?limit=1").json
    found = [one["id"] for one in page["items"]]
    while "next" in page:
        page = office.get(page["next"]).json
        found += [one["id"] for one in page["items"]]
    assert found == everything


@pytest.mark.parametrize("keep", [[-1], ["a"], "all", [0.5]])
def test_what_to_keep_is_named_by_whole_numbers(office: Office, keep: Any) -> None:
    assert office.post(f"/v1/jobs/{office.job()}/offcuts", {"keep": keep}).status_code == 422


def test_offcuts_are_counted_on_and_off_but_never_below_none(office: Office) -> None:
    size = {"product": "membrane-1500", "length_mm": 8200, "width_mm": 1500}
    assert office.post("/v1/offcuts", {**size, "by": 2}).json == {**size, "on_hand": 2}
    assert office.post("/v1/offcuts", {**size, "by": -1}).json == {**size, "on_hand": 1}
    assert on_hand(office)["offcuts"] == [("membrane-1500", 8200, 1500, 1)]
    refused = office.post("/v1/offcuts", {**size, "by": -2})
    assert (refused.status_code, refused.json["type"].rpartition("/")[2]) == (409, "stock_changed")
    for product in ("nothing", "tape-60"):
        refused = office.post("/v1/offcuts", {**size, "product": product, "by": 1})
        assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, "/product")
    assert on_hand(office)["offcuts"] == [("membrane-1500", 8200, 1500, 1)]
