"""Idempotency-Key: one effect, the first answer again."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from service.api.examples import JOB
from service.records.store import Store
from service.records.tables import Repeat
from tests.service.api.office import Office


def test_the_same_request_again_gives_the_first_answer_and_no_second_job(office: Office) -> None:
    first = office.post("/v1/jobs", JOB, Idempotency_Key='"8e03978e"')
    again = office.post("/v1/jobs", JOB, Idempotency_Key="8e03978e")
    assert (again.status_code, again.json) == (first.status_code, first.json)
    for name in ("Location", "ETag", "Retry-After"):
        assert again.headers[name] == first.headers[name]
    assert "Idempotency-Replayed" not in first.headers
    assert again.headers["Idempotency-Replayed"] == "true"
    assert len(office.get("/v1/jobs").json["items"]) == 1


def test_the_same_key_with_another_body_is_refused(office: Office) -> None:
    office.post("/v1/jobs", JOB, Idempotency_Key="one")
    other = office.post("/v1/jobs", {**JOB, "title": "Other"}, Idempotency_Key="one")
    assert (other.status_code, other.json["code"]) == (422, "key_reused")


def test_the_same_key_is_free_for_another_operation(office: Office) -> None:
    job = office.post("/v1/jobs", JOB, Idempotency_Key="one").json["id"]
    assert office.post(f"/v1/jobs/{job}/plan/cancel", Idempotency_Key="one").status_code == 200


def test_a_refused_request_leaves_its_key_free(office: Office) -> None:
    assert office.post("/v1/jobs", {"reference": ""}, Idempotency_Key="one").status_code == 422
    job = office.job()
    assert office.post(f"/v1/jobs/{job}/quotes", Idempotency_Key="two").status_code == 409
    assert office.post("/v1/jobs", JOB, Idempotency_Key="one").status_code == 202


def test_many_at_once_make_one_job(office: Office) -> None:
    def send(_: int) -> tuple[int, str]:
        desk = Office(office.client.application.test_client(), office.account, office.key)
        answer = desk.post("/v1/jobs", JOB, Idempotency_Key="race")
        return answer.status_code, answer.json["id"]

    with ThreadPoolExecutor(8) as pool:
        answers = set(pool.map(send, range(16)))
    assert len(answers) == 1
    assert len(office.get("/v1/jobs").json["items"]) == 1


def test_a_keys_secret_is_not_kept_for_repeats(office: Office, store: Store) -> None:
    made = office.post("/v1/account/keys", {"name": "van"}, Idempotency_Key="k")
    again = office.post("/v1/account/keys", {"name": "van"}, Idempotency_Key="k")
    assert made.json["secret"].startswith("lapwise_")
    assert again.json == {**made.json, "secret": None}
    with store.reading() as session:
        assert made.json["secret"] not in "".join(row.body or "" for row in session.query(Repeat))


def test_a_rotated_keys_secret_is_shown_once_and_the_old_key_opens_yet(office: Office) -> None:
    (first,) = office.get("/v1/account/keys").json["items"]
    made = office.post(f"/v1/account/keys/{first['id']}/rotate", Idempotency_Key="k")
    again = office.post(f"/v1/account/keys/{first['id']}/rotate", Idempotency_Key="k")
    assert (made.status_code, made.json["scopes"]) == (201, first["scopes"])
    assert again.json == {**made.json, "secret": None}
    old, new = office.get("/v1/account/keys").json["items"]
    assert (old["revoked_at"] is not None, new["revoked_at"]) == (True, None)
    assert office.post(f"/v1/account/keys/{first['id']}/rotate").json["code"] == "key_revoked"
    entry = next(
        one for one in office.get("/v1/account/audit").json["items"] if one["action"] == "key.rotated"
    )
    assert (entry["subject"], entry["detail"]) == (old["id"], f"{new['id']} takes its place")


@pytest.mark.parametrize("key", ["", '""', "a b", "x" * 256, "caf\xe9"])
def test_a_key_that_cannot_be_is_refused(office: Office, key: str) -> None:
    answer = office.post("/v1/jobs", JOB, Idempotency_Key=key)
    assert (answer.status_code, answer.json["code"]) == (400, "bad_header")
    assert office.get("/v1/jobs").json["items"] == []


def test_a_repeated_quote_has_the_first_ones_number(office: Office, plan_now: object) -> None:
    job = office.job()
    plan_now(office, job)  # type: ignore[operator]
    first = office.post(f"/v1/jobs/{job}/quotes", Idempotency_Key="q")
    again = office.post(f"/v1/jobs/{job}/quotes", Idempotency_Key="q")
    assert again.json == first.json
    assert len(office.get(f"/v1/jobs/{job}/quotes").json["items"]) == 1
