"""Over HTTP, with the worker's own code: what the customer accepted reaches the job, its plan and the crew's papers."""

# ruff: noqa: F811 - fixtures are named by arguments
from __future__ import annotations

import io
import re
from typing import Any

import pypdf
import pytest
from sqlalchemy import select

from service.api.examples import JOB
from service.records.store import Store
from service.records.tables import HookDelivery
from tests.service.api.office import Office
from tests.service.api.test_alternatives import BLOWN_IN, OWN_COLLARS, SCAFFOLD
from tests.service.api.test_money import Work, app, planned, quoted, work  # noqa: F401 - fixtures

CHOSEN = ["own-collars", "a"]


@pytest.fixture
def accepted(office: Office, planned: str, work: Work) -> dict[str, Any]:
    """A quote that was accepted with collars by the other trades and insulation blown in."""
    quote = quoted(office, planned, work, alternatives=[OWN_COLLARS, BLOWN_IN, SCAFFOLD])
    answer = office.post(f"/v1/quotes/{quote['id']}/accept", {"chosen": CHOSEN})
    assert answer.status_code == 200, answer.text
    return dict(answer.json)


def changed(office: Office, job: str, **changes: Any) -> None:
    """The job's next revision, changed by hand."""
    found = office.get(f"/v1/jobs/{job}")
    answer = office.send("PUT", f"/v1/jobs/{job}", {**found.json, **changes}, If_Match=found.headers["ETag"])
    assert answer.status_code == 202, answer.text


def test_the_job_is_changed_to_what_was_agreed_and_planned_at_the_price_of_the_choice(
    office: Office, store: Store, accepted: dict[str, Any], planned: str, work: Work
) -> None:
    path, before = f"/v1/quotes/{accepted['id']}", office.get(f"/v1/jobs/{planned}/plan").json
    assert accepted["links"]["as_agreed"] == f"{path}/as-agreed"
    looked = office.get(f"{path}/as-agreed").json
    assert (looked["follows"], looked["changed"], looked["status"]) == (False, False, "ready")
    assert looked["settings"] == [
        {"setting": "insulation", "now": "in_place", "agreed": "blown_in"},
        {"setting": "collars", "now": "by_us", "agreed": "by_others"},
    ]
    hook = office.post("/v1/hooks", {"url": "https://hooks.example.com/", "events": ["plan.ready"]})
    assert hook.status_code == 201
    done = office.post(f"{path}/as-agreed")
    assert (done.status_code, done.headers["Location"]) == (202, f"/v1/jobs/{planned}/plan")
    assert (done.json["changed"], done.json["follows"], done.json["revision"]) == (True, True, 2)
    assert done.json["settings"] == looked["settings"]
    assert "insulation blown in later, collars brought and fitted by the other trades" in done.json["said"]
    again = office.post(f"{path}/as-agreed")
    assert (again.status_code, again.json["changed"], again.json["settings"]) == (200, False, [])
    assert again.json["said"].endswith("there is nothing to change.")
    assert (again.json["status"], again.json["needs_otherwise"]) == ("queued", None)
    work()
    assert office.get(f"{path}/as-agreed").json["needs_otherwise"] is False
    job = office.get(f"/v1/jobs/{planned}").json
    assert (job["revision"], job["insulation"], job["collars"]) == (2, "blown_in", "by_others")
    assert job["agreement"]["number"] == accepted["number"]
    assert job["agreement"]["chosen"] == [OWN_COLLARS["name"], BLOWN_IN["name"]]
    plan = office.get(f"/v1/jobs/{planned}/plan").json
    assert (plan["revision"], plan["status"]) == (2, "ready")
    assert plan["price"] == accepted["agreed_price"] != before["price"]
    assert office.get(path).json == accepted
    assert office.get(f"/v1/jobs/{planned}/plan?revision=1").json == before
    assert office.get(f"/v1/jobs/{planned}/ledger").json["in_money"]["quoted_net"] == plan["price"]["net"]
    trail = office.get("/v1/account/audit").json["items"]
    (entry,) = [one for one in trail if one["action"] == "job.changed_as_agreed"]
    assert (entry["subject"], entry["detail"]) == (
        planned,
        f"quote {accepted['number']}, revision 1",
    )
    with store.reading() as session:
        (told,) = session.scalars(select(HookDelivery)).all()
    assert (told.event, told.data["job"], told.data["revision"]) == ("plan.ready", planned, 2)
    papers = office.get(f"/v1/jobs/{planned}/documents").json["items"]
    pack = next(one for one in papers if one["kind"] == "site_pack" and one["filename"].endswith("-2.pdf"))
    pages = pypdf.PdfReader(io.BytesIO(office.get(f"/v1/documents/{pack['id']}").data)).pages
    words = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    assert f"follows quote {accepted['number']}, revision 1" in words
    assert "brought and fitted by the other trade" in words


def test_orders_made_before_stay_and_nothing_is_ordered_twice(
    office: Office, accepted: dict[str, Any], planned: str, work: Work
) -> None:
    made = office.post(f"/v1/jobs/{planned}/orders").json["items"]
    office.post(f"/v1/quotes/{accepted['id']}/as-agreed")
    work()
    kept = office.get(f"/v1/jobs/{planned}/orders").json["items"]
    assert {one["id"]: one["lines"] for one in kept} == {one["id"]: one["lines"] for one in made}
    again = office.post(f"/v1/jobs/{planned}/orders").json["items"]
    assert [one["number"] for one in again] == [one["number"] for one in made]
    for one in made:
        office.post(f"/v1/orders/{one['id']}/send")
    refused = office.post(f"/v1/jobs/{planned}/finish")
    assert (refused.status_code, refused.json["code"]) == (409, "order_under_way")
    for one in made:
        assert office.post(f"/v1/orders/{one['id']}/receive").status_code == 200
    bought = {line["product"] for order in made for line in order["lines"] if line["kind"] == "membrane"}
    assert office.post(f"/v1/jobs/{planned}/finish").status_code == 201
    book = office.get("/v1/price-book").json["products"]
    assert bought
    assert {one["on_hand"] for one in book if one["code"] in bought} == {"0"}


def test_orders_made_after_it_hold_what_was_agreed(
    office: Office, accepted: dict[str, Any], planned: str, work: Work
) -> None:
    wanted = office.get(f"/v1/jobs/{planned}/ledger").json["packs"]
    office.post(f"/v1/quotes/{accepted['id']}/as-agreed")
    work()
    made = office.post(f"/v1/jobs/{planned}/orders").json["items"]
    ordered = {(line["product"], line["packs"]) for order in made for line in order["lines"]}
    assert ordered == {(one["product"], one["quoted"]) for one in wanted}


def test_a_job_that_was_changed_since_is_planned_as_agreed_only_knowingly(
    office: Office, accepted: dict[str, Any], planned: str, work: Work
) -> None:
    path = f"/v1/quotes/{accepted['id']}/as-agreed"
    changed(office, planned, title="Three walls", notes="Key at the office")
    assert office.get(path).json["changed_since"] == []
    longer = {**JOB["surfaces"][1], "outline_mm": [[0, 0], [5200, 0], [5200, 2450], [0, 2450]]}
    another = {**JOB["surfaces"][1], "id": "hall"}
    changed(
        office,
        planned,
        stapler="hand",
        surfaces=[JOB["surfaces"][0], longer, another],
        junctions=JOB["junctions"],
    )
    looked = office.get(path).json
    assert (looked["priced_revision"], looked["revision"]) == (1, 3)
    assert looked["changed_since"] == ["surface hall added", "surface living-east changed", "the stapler"]
    refused = office.post(path)
    assert (refused.status_code, refused.json["code"]) == (409, "job_changed_since")
    assert "priced from revision 1 of the job, which is now at revision 3" in refused.json["detail"]
    assert "surface hall added" in refused.json["detail"]
    stale = office.post(path, {"onto_revision": 2})
    assert (stale.status_code, stale.json["code"]) == (409, "job_changed_since")
    assert office.get(f"/v1/jobs/{planned}").json["revision"] == 3
    done = office.post(path, {"onto_revision": 3})
    assert (done.status_code, done.json["revision"], done.json["changed"]) == (202, 4, True)
    job = office.get(f"/v1/jobs/{planned}").json
    assert [one["id"] for one in job["surfaces"]] == ["living-north", "living-east", "hall"]
    assert (job["stapler"], job["insulation"], job["collars"]) == ("hand", "blown_in", "by_others")


def test_where_nothing_is_to_change_it_says_so_and_does_nothing(
    office: Office, planned: str, work: Work
) -> None:
    quote = quoted(office, planned, work)
    path = f"/v1/quotes/{quote['id']}/as-agreed"
    for method in ("GET", "POST"):
        early = office.send(method, path)
        assert (early.status_code, early.json["code"]) == (409, "quote_not_accepted")
    office.post(f"/v1/quotes/{quote['id']}/accept")
    done = office.post(path)
    assert (done.status_code, done.json["follows"], done.json["changed"]) == (200, True, False)
    assert "there is nothing to change" in done.json["said"]
    assert office.get(f"/v1/jobs/{planned}").json["revision"] == 1
    assert not any(
        one["action"] == "job.changed_as_agreed" for one in office.get("/v1/account/audit").json["items"]
    )


def test_platforms_change_no_plan_but_the_crew_reads_what_was_chosen(
    office: Office, planned: str, work: Work
) -> None:
    quote = quoted(office, planned, work, alternatives=[SCAFFOLD])
    office.post(f"/v1/quotes/{quote['id']}/accept", {"chosen": ["a"]})
    done = office.post(f"/v1/quotes/{quote['id']}/as-agreed", Prefer="wait=1").json
    assert (done["changed"], done["status"]) == (True, "queued")
    assert done["settings"] == [{"setting": "platforms", "now": "", "agreed": SCAFFOLD["name"]}]
    assert office.post(f"/v1/quotes/{quote['id']}/as-agreed").json["changed"] is False
    work()
    job = office.get(f"/v1/jobs/{planned}").json
    assert (job["agreement"]["chosen"], job["insulation"]) == ([SCAFFOLD["name"]], "in_place")
    now, before = (office.get(f"/v1/jobs/{planned}/plan?revision={one}").json for one in (2, 1))
    assert now["price"] == before["price"]


def test_a_removed_job_is_planned_no_more(office: Office, accepted: dict[str, Any], planned: str) -> None:
    assert office.send("DELETE", f"/v1/jobs/{planned}", If_Match="*").status_code == 204
    for method in ("GET", "POST"):
        gone = office.send(method, f"/v1/quotes/{accepted['id']}/as-agreed")
        assert (gone.status_code, gone.json["code"]) == (404, "not_found")


def test_a_quote_of_a_job_with_collars_by_others_has_the_plans_price_and_says_who_brings_them(
    office: Office, work: Work
) -> None:
    job = office.job(collars="by_others")
    work()
    made = office.post(f"/v1/jobs/{job}/quotes", {})
    assert (made.status_code, made.json["options"]["collars"]) == (201, "by_others")
    assert made.json["price"] == office.get(f"/v1/jobs/{job}/plan").json["price"]
    same = office.post(f"/v1/jobs/{job}/quotes", {"options": {"collars": "by_others"}})
    assert same.status_code == 201
    refused = office.post(f"/v1/jobs/{job}/quotes", {"alternatives": [OWN_COLLARS]})
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, "/alternatives/0")
    ours = {"name": "Collars by us", "collars": "by_us"}
    quote = quoted(office, job, work, alternatives=[ours])
    assert quote["alternatives"][0]["net_difference"][0] != "-"


def test_nobody_but_the_service_writes_that_something_was_agreed(
    office: Office, accepted: dict[str, Any], planned: str
) -> None:
    claim = {
        "quote": accepted["id"], "number": accepted["number"], "revision": 1,
        "insulation": "in_place", "collars": "by_us", "chosen": [],
    }  # fmt: skip
    sent = office.post("/v1/jobs", {**JOB, "agreement": claim})
    assert (sent.status_code, sent.json["errors"][0]["pointer"]) == (422, "/agreement")
    assert "leave it out" in sent.json["errors"][0]["detail"]
    read = office.get(f"/v1/jobs/{planned}")
    body = {**read.json, "agreement": claim}
    assert office.send("PUT", f"/v1/jobs/{planned}", body, If_Match=read.headers["ETag"]).status_code == 422
    batch = office.post("/v1/batches", {"jobs": [JOB, {**JOB, "reference": "PX-015", "agreement": claim}]})
    counts = batch.json["counts"]
    assert (counts["queued"], counts["refused"]) == (1, 1)
    assert office.post(f"/v1/quotes/{accepted['id']}/as-agreed").status_code == 202
    changed(office, planned, notes="Ring first.")  # left in as it was read
    assert office.get(f"/v1/jobs/{planned}").json["agreement"]["collars"] == "by_others"
    changed(office, planned, agreement=None)
    assert office.get(f"/v1/jobs/{planned}").json["agreement"] is None
