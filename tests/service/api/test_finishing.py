"""A finished job has used up its stock: once, with what was really used, and the next plan counts on what is left."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from tests.service.api.office import Office

PlanNow = Callable[[Office, str], None]
OfficeOf = Callable[..., Office]


def stock(office: Office) -> dict[str, Decimal]:
    return {p["code"]: Decimal(p["on_hand"]) for p in office.get("/v1/price-book").json["products"]}


def put_on_hand(office: Office, **amounts: str) -> None:
    book = office.get("/v1/price-book")
    products = [
        {**product, "on_hand": amounts.get(product["code"].replace("-", "_"), product["on_hand"])}
        for product in book.json["products"]
    ]
    answer = office.send("PATCH", "/v1/price-book", {"products": products}, If_Match=book.headers["ETag"])
    assert answer.status_code == 200, answer.text


def planned(office: Office, plan_now: PlanNow, **changes: Any) -> tuple[str, dict[str, Any]]:
    job = office.job(**changes)
    plan_now(office, job)
    return job, office.get(f"/v1/jobs/{job}/plan").json


def line_of(plan: dict[str, Any], kind: str) -> dict[str, Any]:
    return next(line for line in plan["order_lines"] if line["kind"] == kind)


def test_what_the_plan_drew_from_stock_is_gone_when_the_job_is_finished(
    office: Office, plan_now: PlanNow
) -> None:
    put_on_hand(office, tape_60="300", staples_10="60000")
    job, plan = planned(office, plan_now)
    tape, staples = line_of(plan, "lap_tape"), line_of(plan, "staples")
    assert tape["product"] == "tape-60"
    assert (tape["packs"], staples["packs"]) == (0, 0)
    done = office.post(f"/v1/jobs/{job}/finish")
    assert done.status_code == 201, done.text
    left = stock(office)
    assert left["tape-60"] == 300 - Decimal(tape["needed"]) - Decimal(tape["waste"])
    assert left["staples-10"] == 60000 - Decimal(staples["needed"]) - Decimal(staples["waste"])
    told = {one["product"]: one for one in done.json["used"]}
    assert Decimal(told["tape-60"]["taken"]) == Decimal(tape["from_stock"])
    assert Decimal(told["tape-60"]["on_hand"]) == left["tape-60"]
    assert told["tape-60"]["recorded"] is False
    _, again = planned(office, plan_now, reference="NEXT")
    assert Decimal(line_of(again, "lap_tape")["from_stock"]) == min(
        left["tape-60"], Decimal(tape["needed"]) + Decimal(tape["waste"])
    )


def test_what_was_bought_for_the_job_and_used_is_gone_and_the_rest_stays(
    office: Office, plan_now: PlanNow
) -> None:
    job, plan = planned(office, plan_now)
    for order in office.post(f"/v1/jobs/{job}/orders").json["items"]:
        office.post(f"/v1/orders/{order['id']}/send")
    answer = office.post(f"/v1/jobs/{job}/finish")
    assert (answer.status_code, answer.json["code"]) == (409, "order_under_way")
    for order in office.get(f"/v1/jobs/{job}/orders").json["items"]:
        office.post(f"/v1/orders/{order['id']}/receive")
    came = stock(office)
    assert office.post(f"/v1/jobs/{job}/finish").status_code == 201
    left = stock(office)
    for line in plan["order_lines"]:
        if line["kind"] != "membrane" and Decimal(line["needed"]):
            used = Decimal(line["needed"]) + Decimal(line["waste"])
            assert came[line["product"]] - left[line["product"]] == used, line["product"]
    rolls = sum(Decimal(roll["length_mm"]) / 1000 for roll in plan["cut_list"]["rolls"])
    assert sum(came[code] - left[code] for code in ("membrane-1500", "membrane-750")) == rolls


def test_recorded_packs_take_the_place_of_the_planned(office: Office, plan_now: PlanNow) -> None:
    put_on_hand(office, tape_60="300", membrane_1500="200")
    job, plan = planned(office, plan_now)
    rolls = [roll for roll in plan["cut_list"]["rolls"] if roll["from_stock"]]
    assert rolls
    used = [
        {"product": "tape-60", "packs": "1.5", "pack_size": "30"},
        {"product": "tape-60", "packs": "1", "pack_size": "30"},
        {"product": "membrane-1500", "packs": len(rolls) + 1, "pack_size": "50"},
        {"product": "primer-40", "packs": 2},  # none on hand: bought elsewhere
    ]
    done = office.post(f"/v1/jobs/{job}/finish", {"used": used}).json
    assert stock(office)["tape-60"] == 225
    assert stock(office)["membrane-1500"] == 200 - 50 * (len(rolls) + 1)
    assert stock(office)["primer-40"] == 0
    assert done["rolls"] == [{"product": "membrane-1500", "metres": str(50 * (len(rolls) + 1))}]
    told = {one["product"]: one for one in done["used"]}
    assert (told["tape-60"]["used"], told["tape-60"]["taken"]) == ("75", "75")
    assert (told["primer-40"]["used"], told["primer-40"]["taken"]) == ("80", "0")


def test_fewer_rolls_than_planned_leave_the_others_on_hand(office: Office, plan_now: PlanNow) -> None:
    put_on_hand(office, membrane_1500="200")
    job, _ = planned(office, plan_now)
    office.post(f"/v1/jobs/{job}/finish", {"used": [{"product": "membrane-1500", "packs": 0}], "keep": []})
    assert stock(office)["membrane-1500"] == 200


def test_a_job_is_finished_once(office: Office, plan_now: PlanNow) -> None:
    put_on_hand(office, tape_60="300")
    job, _ = planned(office, plan_now)
    assert office.post(f"/v1/jobs/{job}/finish").status_code == 201
    left = stock(office)
    answer = office.post(f"/v1/jobs/{job}/finish")
    assert (answer.status_code, answer.json["code"]) == (409, "already_finished")
    assert stock(office) == left


def test_the_same_key_twice_finishes_once_and_answers_alike(office: Office, plan_now: PlanNow) -> None:
    put_on_hand(office, tape_60="300")
    job, _ = planned(office, plan_now)
    first = office.post(f"/v1/jobs/{job}/finish", {}, Idempotency_Key="the-end")
    left = stock(office)
    second = office.post(f"/v1/jobs/{job}/finish", {}, Idempotency_Key="the-end")
    assert (first.status_code, first.json) == (second.status_code, second.json)
    assert stock(office) == left


def test_offcuts_kept_before_are_not_kept_again(office: Office, plan_now: PlanNow) -> None:
    put_on_hand(office, tape_60="300", membrane_1500="200")
    job, _ = planned(office, plan_now)
    office.post(f"/v1/jobs/{job}/offcuts")
    before = office.get("/v1/offcuts").json["items"]
    rolls = stock(office)["membrane-1500"]
    done = office.post(f"/v1/jobs/{job}/finish").json
    assert (done["offcuts_kept"], done["offcuts_used"], done["rolls"]) == ([], [], [])
    assert office.get("/v1/offcuts").json["items"] == before
    assert stock(office)["membrane-1500"] == rolls
    assert stock(office)["tape-60"] < 300


def test_an_unknown_product_is_named_and_nothing_is_finished(office: Office, plan_now: PlanNow) -> None:
    job, _ = planned(office, plan_now)
    answer = office.post(f"/v1/jobs/{job}/finish", {"used": [{"product": "nails", "packs": 1}]})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/used/0/product"
    assert office.get(f"/v1/jobs/{job}/ledger").json["finished_at"] is None
    assert office.post(f"/v1/jobs/{job}/finish").status_code == 201


def test_the_ledger_sets_quoted_beside_used_packs_hours_and_money(office: Office, plan_now: PlanNow) -> None:
    job, plan = planned(office, plan_now)
    office.post(f"/v1/jobs/{job}/quotes")
    before = office.get(f"/v1/jobs/{job}/ledger").json
    assert before["in_money"]["used_materials"] is None
    tape = line_of(plan, "lap_tape")
    body = {
        "used": [{"product": tape["product"], "packs": "0.5"}],
        "hours": {"operations": [{"operation": "tape_lap", "hours": "3"}]},
    }
    assert office.post(f"/v1/jobs/{job}/finish", body).status_code == 201
    ledger = office.get(f"/v1/jobs/{job}/ledger").json
    assert ledger["finished_at"]
    assert Decimal(ledger["recorded_h"]) == 3
    row = next(one for one in ledger["packs"] if one["used"] is not None)
    assert (row["product"], Decimal(row["used"]), row["quoted"]) == (
        tape["product"],
        Decimal("0.5"),
        tape["packs"],
    )
    half = Decimal(tape["price"]) / tape["packs"] / 2
    assert Decimal(row["used_price"]) == half
    quoted = sum(Decimal(one["quoted_price"]) for one in ledger["packs"])
    of_tape = sum(
        Decimal(one["quoted_price"]) for one in ledger["packs"] if one["product"] == tape["product"]
    )
    money = ledger["in_money"]
    assert Decimal(money["used_materials"]) == quoted - of_tape + half
    assert Decimal(money["result_by_use"]) == (
        Decimal(money["quoted_net"]) - Decimal(money["recorded_labour"]) - Decimal(money["used_materials"])
    )


def test_a_merchants_customer_uses_up_its_own_stock(office_of: OfficeOf, plan_now: PlanNow) -> None:
    merchant = office_of(name="Example Supplies", kind="merchant")
    shown = merchant.get("/v1/price-book")
    assert (
        merchant.send("PUT", "/v1/price-book", shown.json, If_Match=shown.headers["ETag"]).status_code == 200
    )
    customer = office_of(account=merchant.post("/v1/account/customers", {"name": "One"}).json["id"])
    job, _ = planned(customer, plan_now)
    for order in customer.post(f"/v1/jobs/{job}/orders").json["items"]:
        customer.post(f"/v1/orders/{order['id']}/send")
        customer.post(f"/v1/orders/{order['id']}/receive")
    came = stock(customer)
    assert customer.post(f"/v1/jobs/{job}/finish").status_code == 201
    assert stock(customer)["staples-10"] < came["staples-10"]
    assert stock(merchant) == {
        product["code"]: Decimal(product["on_hand"]) for product in shown.json["products"]
    }
