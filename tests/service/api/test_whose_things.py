"""Nobody sees, changes or even notices another account's things. The matrix is made from the routes themselves."""

from collections.abc import Callable, Iterator

import pytest
from flask import Flask

from service.api.all import RESOURCES
from service.api.examples import JOB
from service.api.leakage import LEAK
from service.api.operation import Operation
from service.api.pressure_tests import TEST
from service.records import documents
from service.records.store import Store
from tests.service.api.office import Office

OfficeOf = Callable[..., Office]
_PUBLIC = {"/healthz", "/readyz", "/metrics"}
_NEVER_WAS = {
    "job": "job_0000000000000000000000", "key": "key_0000000000000000000000", "quote": "quo_0000000000000000000000",
    "hook": "hook_0000000000000000000000", "delivery": "dly_0000000000000000000000",
    "batch": "bat_0000000000000000000000",
    "test": "tst_0000000000000000000000", "leak": "lek_0000000000000000000000", "model": "mod_0000000000000000000000",
    "order": "ord_0000000000000000000000", "document": "doc_0000000000000000000000", "surface": "nowhere", "table": "cut-list",
}  # fmt: skip
OPERATIONS = [operation for resource in RESOURCES for operation in resource.operations]
WITH_NAMES = [operation for operation in OPERATIONS if operation.parameters]


def _names(operation: Operation) -> str:
    return operation.name


@pytest.fixture
def theirs(
    office_of: OfficeOf, plan_now: Callable[[Office, str], None], store: Store
) -> tuple[Office, dict[str, str]]:
    """Another office with one of everything."""
    other = office_of(name="Example Lining Ltd")
    box = {"id": "g", "footprint_mm": [[0, 0], [4000, 0], [4000, 3000], [0, 3000]], "height_mm": 2400}
    job = other.job(building={"storeys": [box]})
    plan_now(other, job)
    quote = other.post(f"/v1/jobs/{job}/quotes").json["id"]
    hook = other.post("/v1/hooks", {"url": "https://jobs.example.com/"}).json["id"]
    with store.writing() as session:
        document = documents.add_document(
            session, other.account, job, kind="quote", subject_id=quote, filename="q.pdf", content=b"%PDF"
        ).id
    return other, {
        "job": job,
        "quote": quote,
        "order": other.post(f"/v1/jobs/{job}/orders").json["items"][0]["id"],
        "document": document,
        "key": other.get("/v1/account/keys").json["items"][0]["id"],
        "hook": hook,
        "batch": other.post("/v1/batches", {"jobs": [JOB]}).json["id"],
        "delivery": other.post(f"/v1/hooks/{hook}/test").json["id"],
        "surface": "living-north",
        "table": "cut-list",
        "test": other.post("/v1/pressure-tests", {**TEST, "job": job}).json["id"],
        "leak": other.post(f"/v1/jobs/{job}/leaks", LEAK).json["id"],
        "model": other.upload("/v1/surveys", b"ISO-10303-21;").json["id"],
    }


def _ask(office: Office, operation: Operation, names: dict[str, str]) -> tuple[int, object, dict[str, str]]:
    path = operation.path.format(**names)
    body = operation.example if operation.takes is not None else None
    answer = office.send(
        operation.method, path, body, If_Match="*" if operation.edits else None, X_Request_Id="same"
    )
    shown = answer.json or {}
    told = {
        name: value
        for name, value in answer.headers.items()
        if name not in ("traceparent", "RateLimit", "Content-Length")
    }
    return answer.status_code, {**shown, "instance": ""}, told


def test_things_of_others_answer_as_if_they_never_were(
    office: Office, theirs: tuple[Office, dict[str, str]]
) -> None:
    other, names = theirs
    for operation in WITH_NAMES:
        known = _ask(office, operation, names)
        unknown = _ask(office, operation, _NEVER_WAS)
        assert known == unknown, operation.name
        assert known[0] == 404, operation.name
    job = other.get(f"/v1/jobs/{names['job']}")
    assert (job.status_code, job.json["revision"]) == (200, 1)
    assert other.get(f"/v1/quotes/{names['quote']}").json["state"] == "issued"
    assert other.get("/v1/account/keys").json["items"][0]["revoked_at"] is None
    assert other.get(f"/v1/jobs/{names['job']}/hours").json["items"] == []
    (leak,) = other.get(f"/v1/jobs/{names['job']}/leaks").json["items"]
    assert leak["sealed"] is False
    assert other.get(f"/v1/pressure-tests/{names['test']}").status_code == 200


def test_the_owner_reaches_every_one_of_them(theirs: tuple[Office, dict[str, str]]) -> None:
    other, names = theirs
    last = {"delete_order", "remove_job", "remove_pressure_test", "revoke_key", "remove_hook"}
    for operation in sorted(WITH_NAMES, key=lambda operation: operation.name in last):
        status, answer, _ = _ask(other, operation, names)
        assert status != 404, (operation.name, answer)


def test_lists_show_only_ones_own(office: Office, theirs: tuple[Office, dict[str, str]]) -> None:
    mine = office.job(reference="MINE")
    for path in ("pressure-tests", "leakage-history", "surveys"):
        assert office.get(f"/v1/{path}").json["items"] == []
    assert [job["id"] for job in office.get("/v1/jobs").json["items"]] == [mine]
    assert office.get("/v1/jobs?reference=PX-014").json["items"] == []
    assert len(office.get("/v1/account/keys").json["items"]) == 1


def test_a_key_of_another_account_does_not_repeat_its_answers(office_of: OfficeOf) -> None:
    one, two = office_of(), office_of()
    first = one.post("/v1/jobs", JOB, Idempotency_Key="same")
    second = two.post("/v1/jobs", JOB, Idempotency_Key="same")
    assert first.json["id"] != second.json["id"]
    assert "Idempotency-Replayed" not in second.headers


@pytest.mark.parametrize("operation", OPERATIONS, ids=_names)
def test_every_operation_wants_a_key(office: Office, operation: Operation) -> None:
    path = operation.path.format(**_NEVER_WAS)
    for header, code in (
        (None, "no_key"),
        ("Basic abc", "no_key"),
        ("Bearer", "no_key"),
        ("Bearer lapwise_wrong", "bad_key"),
    ):
        answer = office.send(operation.method, path, Authorization=header)
        assert (answer.status_code, answer.json["code"]) == (401, code)
        assert answer.headers["WWW-Authenticate"].startswith('Bearer realm="lapwise"')


def _missing(operation: Operation) -> Iterator[tuple[str, ...]]:
    yield tuple(scope for scope in ("read", "write", "admin") if scope != operation.scope)


@pytest.mark.parametrize("operation", OPERATIONS, ids=_names)
def test_every_operation_wants_its_scope(office_of: OfficeOf, operation: Operation) -> None:
    limited = office_of(
        scopes=tuple(scope for scope in ("read", "write", "admin") if scope != operation.scope)
    )
    answer = limited.send(operation.method, operation.path.format(**_NEVER_WAS))
    assert (answer.status_code, answer.json["code"]) == (403, "scope_missing")
    assert f'scope="{operation.scope}"' in answer.headers["WWW-Authenticate"]


def test_every_route_is_an_operation_or_openly_public(app: Flask) -> None:
    routed = {rule.rule for rule in app.url_map.iter_rules() if not rule.endpoint.startswith("page_")}
    assert routed - {operation.rule for operation in OPERATIONS} == _PUBLIC
    pages = {rule.rule for rule in app.url_map.iter_rules() if rule.endpoint.startswith("page_")}
    assert {page for page in pages if page.startswith("/v1/")} == {"/v1/openapi.json"}
    assert all(operation.scope in ("read", "write", "admin") for operation in OPERATIONS)
    assert all(operation.scope != "read" for operation in OPERATIONS if operation.writes)


def test_a_revoked_key_is_dead_at_once(office_of: OfficeOf) -> None:
    boss = office_of()
    made = boss.post("/v1/account/keys", {"name": "van", "scopes": ["read"]}).json
    van = Office(boss.client, boss.account, made["secret"])
    assert van.get("/v1/account").status_code == 200
    assert boss.send("DELETE", f"/v1/account/keys/{made['id']}").status_code == 204
    assert van.get("/v1/account").json["code"] == "bad_key"
    assert boss.send("DELETE", f"/v1/account/keys/{made['id']}").status_code == 204


def test_a_merchant_acts_for_its_trade_customers_and_nobody_else(office_of: OfficeOf, office: Office) -> None:
    merchant = office_of(name="Example Supplies", kind="merchant")
    customer = merchant.post("/v1/account/customers", {"name": "Example Lining Ltd"}).json["id"]
    stranger = office_of(kind="merchant").post("/v1/account/customers", {"name": "Other"}).json["id"]
    sent = merchant.post("/v1/jobs", JOB, Act_For=customer)
    assert sent.status_code == 202
    assert merchant.get("/v1/jobs").json["items"] == []
    assert merchant.get(f"/v1/jobs/{sent.json['id']}").status_code == 404
    assert merchant.get(f"/v1/jobs/{sent.json['id']}", Act_For=customer).status_code == 200
    assert merchant.get("/v1/account", Act_For=customer).json["merchant"] == merchant.account
    for account in (stranger, office.account, "acc_0000000000000000000000", "", "\xe9"):
        assert merchant.get("/v1/jobs", Act_For=account).json["code"] == "not_found"
    assert office.get("/v1/jobs", Act_For=customer).status_code == 404
    assert office.get("/v1/jobs", Act_For=office.account).status_code == 200


def test_customers_are_a_merchants_affair(office: Office) -> None:
    assert office.get("/v1/account/customers").status_code == 409
    assert office.post("/v1/account/customers", {"name": "Example"}).status_code == 409


def test_names_that_cannot_be_are_not_found(office: Office) -> None:
    for name in ("a%00b", "%ED%A0%80", "a b", "x" * 300, "..", "%2e%2e%2fetc", "'; DROP TABLE job; --"):
        answer = office.get(f"/v1/jobs/{name}/plan")
        assert answer.status_code == 404, name
        assert answer.content_type == "application/problem+json"
