"""What is not plain JSON is refused with a sentence, never with an error of ours."""

import contextlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.api import strict_json
from service.api.examples import JOB
from tests.service.api.office import Office

_BAD = {
    "nan": b'{"reference": NaN}',
    "infinity": b'{"reference": Infinity}',
    "minus_infinity": b'{"reference": -Infinity}',
    "overflow": b'{"reference": 1e400}',
    "twice": b'{"reference": "a", "reference": "b"}',
    "twice_deep": b'{"customer": {"name": "a", "name": "b"}}',
    "deep_lists": b"[" * 200_000,
    "deep_objects": b'{"a":' * 200_000,
    "long_integer": b'{"volume_m3": ' + b"9" * 5000 + b"}",
    "long_float": b'{"volume_m3": 0.' + b"9" * 5000 + b"}",
    "cut_off": b'{"reference": "a"',
    "no_quotes": b"{reference: 1}",
    "trailing": b'{"reference": "a"} x',
    "comment": b'{"reference": "a" /* b */}',
    "not_utf8": b'{"reference": "\xff"}',
    "utf16": '{"reference": "a"}'.encode("utf-16"),
    "half_surrogate": b'{"reference": "\\ud800"}',
    "nul": b'{"reference": "a\\u0000b"}',
    "bare_nul": b'{"reference": "a\x00b"}',
    "newline_in_text": b'{"reference": "a\nb"}',
    "only_quote": b'"',
    "many_quotes": b'"\\"' * 100_000,
    "empty": b"",
    "blank": b"   ",
}


@pytest.mark.parametrize("raw", _BAD.values(), ids=_BAD.keys())
def test_what_is_no_json_is_refused_in_words(office: Office, raw: bytes) -> None:
    answer = office.post("/v1/jobs", raw)
    assert answer.status_code == 400
    assert answer.content_type == "application/problem+json"
    assert answer.json["code"] == "not_json"
    assert len(answer.json["detail"]) > 20


@pytest.mark.parametrize("raw", [b"[]", b'"a"', b"1", b"null", b"true"])
def test_a_body_that_is_no_object_is_refused(office: Office, raw: bytes) -> None:
    answer = office.post("/v1/jobs", raw)
    assert answer.status_code == 422
    assert answer.json["errors"] == [{"pointer": "", "detail": "must be an object in braces { }."}]


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("/surfaces/0/members/centres_mm", 400.5),
        ("/surfaces/0/members/centres_mm", True),
        ("/surfaces/0/members/centres_mm", None),
        ("/surfaces/0/members/centres_mm", "four hundred"),
        ("/surfaces/0/members/centres_mm", 10**30),
        ("/surfaces/0/penetrations/1/count", 3.0),
        ("/surfaces/0/penetrations/1/count", "3"),
        ("/surfaces/0/penetrations/1/count", -1),
        ("/volume_m3", "1E+1000000"),
        ("/volume_m3", "12,5"),
        ("/volume_m3", [1]),
        ("/surfaces/0/outline_mm/2/0", 1e300),
        ("/reference", 7),
        ("/reference", ""),
        ("/reference", "x" * 65),
        ("/reference", "a\u0007b"),
        ("/stapler", "glue"),
        ("/surfaces/0/kind", {}),
        ("/surfaces/0/id", "../../etc"),
        ("/customer", []),
        ("/surfaces", {}),
        ("/plan", "yes"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused_at_its_place(
    office: Office, pointer: str, value: object
) -> None:
    body = json.loads(json.dumps(JOB))
    place = body
    *way, last = pointer.strip("/").split("/")
    for step in way:
        place = place[int(step)] if isinstance(place, list) else place[step]
    place[int(last) if isinstance(place, list) else last] = value
    answer = office.post("/v1/jobs", body)
    assert answer.status_code == 422
    assert any(pointer.startswith(fault["pointer"]) for fault in answer.json["errors"]), answer.json
    assert all(fault["pointer"] for fault in answer.json["errors"])


def test_every_fault_is_named_at_once(office: Office) -> None:
    body = {"surfaces": [{"id": "a b", "kind": "roof"}], "stapler": "glue", "colour": "red"}
    answer = office.post("/v1/jobs", body)
    assert answer.status_code == 422
    pointers = {fault["pointer"] for fault in answer.json["errors"]}
    assert pointers == {
        "/reference", "/colour", "/stapler", "/surfaces/0/id", "/surfaces/0/kind", "/surfaces/0/outline_mm",
        "/surfaces/0/members",
    }  # fmt: skip


def test_pointers_are_escaped_as_rfc_6901_says(office: Office) -> None:
    answer = office.post("/v1/jobs", {**JOB, "a/b~c": 1})
    assert answer.json["errors"][0]["pointer"] == "/a~1b~0c"


def test_a_body_over_five_mebibytes_is_refused(office: Office) -> None:
    answer = office.post("/v1/jobs", b'{"notes": "' + b"x" * (5 * 1024 * 1024) + b'"}')
    assert answer.status_code == 413
    assert "5 MiB" in answer.json["detail"]


def test_other_kinds_of_content_are_refused(office: Office) -> None:
    for media_type in ("text/plain", "application/xml", "application/merge-patch+json", None):
        answer = office.post("/v1/jobs", JOB, Content_Type=media_type)
        assert answer.status_code == 415
        assert answer.json["code"] == "wrong_media_type"
    assert office.post("/v1/jobs", JOB, Content_Encoding="gzip").status_code == 415
    assert office.post("/v1/jobs", JOB, Content_Type="application/json; charset=utf-16").status_code == 415
    assert office.post("/v1/jobs", JOB, Content_Type="application/json; charset=utf-8").status_code == 202


@given(st.recursive(
    st.none() | st.booleans() | st.integers(-(10**15), 10**15) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(
        st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")), inner, max_size=4),
    max_leaves=12,
))  # fmt: skip
def test_whatever_is_written_is_read_back_the_same(value: object) -> None:
    assert strict_json.read(strict_json.write(value).encode()) == value


@given(st.binary(max_size=200) | st.text('[]{}",:\\u0d8ntrue1-eE. ', max_size=80).map(str.encode))
def test_any_bytes_are_read_or_refused_in_words(raw: bytes) -> None:
    with contextlib.suppress(strict_json.NotJson):  # any other error fails this test
        strict_json.read(raw)


def test_infinity_is_never_written() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        strict_json.write({"a": float("nan")})
