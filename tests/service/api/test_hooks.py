"""Hooks over the API: set up, changed, rotated, removed; what happens is written down to be told."""

from collections.abc import Callable

import pytest
from sqlalchemy import select

from service.records.store import Store
from service.records.tables import Hook, HookDelivery
from tests.service.api.office import Office

HOOK = {"url": "https://jobs.example.com/lapwise", "events": []}


def _told(office: Office, hook: str) -> list[str]:
    return [entry["event"] for entry in office.get(f"/v1/hooks/{hook}/deliveries").json["items"]][::-1]


def test_a_secret_is_shown_once_and_never_again(office: Office) -> None:
    made = office.post("/v1/hooks", HOOK, Idempotency_Key="first")
    assert made.status_code == 201
    assert made.json["secret"].startswith("whsec_")
    again = office.post("/v1/hooks", HOOK, Idempotency_Key="first")
    assert (again.json["id"], again.json["secret"]) == (made.json["id"], None)
    for path in ("/v1/hooks", f"/v1/hooks/{made.json['id']}"):
        assert "whsec_" not in office.get(path).text


@pytest.mark.parametrize(
    "url",
    ["http://jobs.example.com/", "https://127.0.0.1/", "https://[::1]/", "https://localhost/", "https://10.1.2.3/x",
     "https://jobs.example.com:8443/", "https://a:b@jobs.example.com/", "https://169.254.169.254/latest",
     "https://[64:ff9b::a00:1]/", "https://0x7f000001/", "file:///etc/passwd", "https://jobs.example.com/#x"],
)  # fmt: skip
def test_an_address_inside_is_refused_when_set_up_and_when_changed(office: Office, url: str) -> None:
    refused = office.post("/v1/hooks", {"url": url})
    assert refused.status_code == 422
    assert refused.json["errors"][0]["pointer"] == "/url"
    hook = office.post("/v1/hooks", HOOK)
    changed = office.send(
        "PATCH", f"/v1/hooks/{hook.json['id']}", {"url": url}, If_Match=hook.headers["ETag"]
    )
    assert changed.status_code == 422


def test_a_hook_is_told_what_it_asked_for_and_nothing_while_it_is_paused(
    office: Office, plan_now: Callable[[Office, str], None]
) -> None:
    everything = office.post("/v1/hooks", HOOK).json["id"]
    quotes = office.post("/v1/hooks", {**HOOK, "events": ["quote.issued", "quote.accepted"]})
    paused = office.post("/v1/hooks", {**HOOK, "active": False}).json["id"]
    job = office.job()
    plan_now(office, job)
    quote = office.post(f"/v1/jobs/{job}/quotes").json["id"]
    office.post(f"/v1/quotes/{quote}/accept")
    assert _told(office, everything) == ["plan.ready", "quote.issued", "quote.accepted"]
    assert _told(office, quotes.json["id"]) == ["quote.issued", "quote.accepted"]
    assert _told(office, paused) == []
    stopped = office.send(
        "PATCH", f"/v1/hooks/{quotes.json['id']}", {"active": False}, If_Match=quotes.headers["ETag"]
    )
    assert stopped.json["active"] is False
    assert office.post(f"/v1/hooks/{quotes.json['id']}/test").json["code"] == "hook_not_active"


def test_one_event_has_one_id_for_every_hook(office: Office, plan_now: Callable[[Office, str], None]) -> None:
    hooks = [office.post("/v1/hooks", HOOK).json["id"] for _ in range(2)]
    job = office.job()
    plan_now(office, job)
    deliveries = [office.get(f"/v1/hooks/{hook}/deliveries").json["items"][0] for hook in hooks]
    assert deliveries[0]["event_id"] == deliveries[1]["event_id"]
    assert deliveries[0]["subject"] == f"/v1/jobs/{job}/plan"


def test_nothing_is_told_of_what_was_rolled_back(office: Office, store: Store) -> None:
    hook = office.post("/v1/hooks", HOOK).json["id"]
    assert office.post(f"/v1/hooks/{hook}/test", Idempotency_Key="a b").status_code == 400
    with store.reading() as session:
        assert session.scalars(select(HookDelivery)).all() == []


def test_a_new_secret_signs_beside_the_old_for_a_day(office: Office, store: Store) -> None:
    made = office.post("/v1/hooks", HOOK)
    rotated = office.post(f"/v1/hooks/{made.json['id']}/rotate")
    assert rotated.json["secret"] not in (None, made.json["secret"])
    assert rotated.json["old_secret_until"] is not None
    with store.reading() as session:
        row = session.get_one(Hook, made.json["id"])
    assert (row.secret, row.old_secret) == (rotated.json["secret"], made.json["secret"])


def test_a_test_event_waits_to_be_sent_and_can_be_replayed_under_its_id(office: Office) -> None:
    hook = office.post("/v1/hooks", {**HOOK, "events": ["plan.ready"]}).json["id"]
    sent = office.post(f"/v1/hooks/{hook}/test")
    assert (sent.status_code, sent.json["event"], sent.json["state"]) == (202, "hook.test", "waiting")
    again = office.post(f"/v1/hooks/{hook}/deliveries/{sent.json['id']}/replay")
    assert (again.status_code, again.json["event_id"]) == (202, sent.json["event_id"])
    assert office.get(sent.headers["Location"]).json["id"] == sent.json["id"]


def test_a_removed_hook_is_gone_with_what_it_was_told(office: Office) -> None:
    made = office.post("/v1/hooks", HOOK)
    here = f"/v1/hooks/{made.json['id']}"
    office.post(f"{here}/test")
    assert office.send("DELETE", here).status_code == 428
    assert office.send("DELETE", here, If_Match='"stale"').status_code == 412
    assert office.send("DELETE", here, If_Match=made.headers["ETag"]).status_code == 204
    assert office.get(here).status_code == office.get(f"{here}/deliveries").status_code == 404


def test_an_account_has_a_limited_number_of_hooks(office: Office) -> None:
    statuses = [office.post("/v1/hooks", HOOK).status_code for _ in range(21)]
    assert statuses == [201] * 20 + [409]
