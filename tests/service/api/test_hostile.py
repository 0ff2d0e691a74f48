"""What nobody means well with, in every place of a request: refused with 4xx as a problem, and never an error of ours."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from service.api import strict_json
from service.api.examples import JOB
from tests.service.api.office import Office

_ANY: list[Any] = [{"$gt": ""}, [[[]]], True]
_TEXT = [*_ANY, 12, "x" * 10_000, "a\x1bb"]
_NUMBER = [*_ANY, "NaN", "1e999", 1e300, -(10**60), "'; DROP TABLE job; --", "１２ mm"]
_LIST = ["x", {"0": 1}, 7, ["../../etc/passwd"], [[["x"]]]]
_CHOICE = ["", "DROP TABLE", "wall\x00", 3, ["wall"], {"a": 1}]
_PLACES: dict[str, list[Any]] = {
    "/reference": [*_TEXT, ""],
    "/title": _TEXT,
    "/customer": ["x", [1], 7, {"name": {"first": "x"}}, {"nme": "x"}],
    "/customer/name": _TEXT,
    "/insulation": _CHOICE,
    "/stapler": _CHOICE,
    "/target": ["x", [1], {"n50_per_h": -1}, {"n50_per_h": 1e9}, {"x": 1}],
    "/volume_m3": _NUMBER,
    "/surfaces": _LIST,
    "/surfaces/0": ["x", 7, [1], {}],
    "/surfaces/0/id": [*_TEXT, "", "../x", "a b", "living-east"],
    "/surfaces/0/kind": _CHOICE,
    "/surfaces/0/outline_mm": [*_LIST, [], [[0, 0], [1, 1]], [[0, 0], [0, 0], [0, 0]], [[0, 0], [10**9, 0], [0, 5]],
                               [[0, 0], [4000, 2400], [4000, 0], [0, 2400]], [[0.5, 0], [1, 0], [0, 1]]],
    "/surfaces/0/members": ["x", 7, [1], {}],
    "/surfaces/0/members/direction": ["sideways", 1e9, [1], {"a": 1}, True],
    "/surfaces/0/members/centres_mm": [*_NUMBER, -1, 0, 1.5],
    "/surfaces/0/edges": _LIST,
    "/surfaces/0/edges/0/edge": [*_NUMBER, -1, 4, 1.5],
    "/surfaces/0/edges/0/finish": _CHOICE,
    "/surfaces/0/openings/0/kind": _CHOICE,
    "/surfaces/0/openings/0/outline_mm": [*_LIST, [[0, 0], [1, 1]], [[9000, 0], [9900, 0], [9900, 900]]],
    "/surfaces/0/penetrations/0/kind": _CHOICE,
    "/surfaces/0/penetrations/0/diameter_mm": [*_NUMBER, -5, 1.5],
    "/surfaces/0/penetrations/0/at_mm": [*_LIST, [1], [1, 2, 3], [10**12, 0], [-1, -1], [None, 1]],
    "/surfaces/0/penetrations/1/count": [*_NUMBER, 0, -1, 2.5],
    "/junctions": _LIST,
    "/junctions/0/a": ["x", [1], {"surface": "nowhere", "edge": 0}, {"surface": "living-north", "edge": 99}],
}  # fmt: skip
_CASES = [(place, number) for place, values in _PLACES.items() for number in range(len(values))]


def _with(place: str, value: Any) -> dict[str, Any]:
    job = copy.deepcopy(JOB)
    *way, last = place.strip("/").split("/")
    here: Any = job
    for step in way:
        here = here[int(step)] if isinstance(here, list) else here[step]
    here[int(last) if isinstance(here, list) else last] = value
    return job


def test_there_are_two_hundred_of_them() -> None:
    assert len(_CASES) + len(_PATHS) + len(_HEADERS) >= 200


@pytest.mark.parametrize("place", _PLACES)
def test_a_hostile_value_anywhere_in_a_job_is_refused_at_its_place(office: Office, place: str) -> None:
    for value in _PLACES[place]:
        raw = strict_json.write(_with(place, value)).encode()
        answer = office.post("/v1/jobs", raw)
        assert answer.status_code in (400, 422), (place, str(value)[:80], answer.text[:300])
        assert answer.content_type == "application/problem+json"
        if answer.status_code == 422:
            assert answer.json["errors"], place
        assert "Traceback" not in answer.text
    assert office.get("/v1/jobs").json["items"] == []


_PATHS = (
    "/v1/jobs/..%2f..%2fetc%2fpasswd", "/v1/jobs/%00", "/v1/jobs/%ff%fe", "/v1/jobs/{job}", "/v1/jobs/" + "a" * 5000,
    "/v1/documents/..;/x", "/v1/batches/%2e%2e/items", "/v1/hooks/%0d%0aSet-Cookie:x", "/v1/nothing",
    "/v1/jobs?limit=-1", "/v1/jobs?limit=1e9", "/v1/jobs?limit=%00", "/v1/jobs?cursor=AAAA", "/v1/jobs?cursor=%27",
    "/v1/jobs?cursor=WyIvdjEvam9icyIsIDEsIDJd", "/v1/jobs?unknown=1", "/v1/batches?limit=201",
)  # fmt: skip


@pytest.mark.parametrize("path", _PATHS, ids=range(len(_PATHS)))
def test_a_hostile_address_is_refused(office: Office, path: str) -> None:
    assert 400 <= office.get(path).status_code < 500


_HEADERS: tuple[dict[str, str], ...] = (
    {"Authorization": "Bearer " + "x" * 8000}, {"Authorization": "Bearer \xff"}, {"Authorization": "Basic Og=="},
    {"Content-Type": "text/xml"}, {"Content-Type": "application/json; charset=utf-16"},
    {"Content_Encoding": "gzip"}, {"Idempotency_Key": "a b"}, {"Idempotency_Key": "x" * 300}, {"Act_For": "acc_x"},
)  # fmt: skip


@pytest.mark.parametrize("headers", _HEADERS, ids=range(len(_HEADERS)))
def test_a_hostile_header_is_refused(office: Office, headers: dict[str, str]) -> None:
    answer = office.post(
        "/v1/jobs", JOB, **{name.replace("-", "_"): value for name, value in headers.items()}
    )
    assert 400 <= answer.status_code < 500
    assert answer.content_type == "application/problem+json"
