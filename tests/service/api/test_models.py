"""Designers' models over HTTP: proposed, refused in words, and never the end of the worker."""

from collections.abc import Callable
from pathlib import Path

import pytest

from service.api import models
from service.api.pressure_tests import TEST
from tests.models.small_models import fzk_attic
from tests.service.api.office import Office
from workers import model_files
from workers.models import read_model as the_module

WorkNow = Callable[[Office], list[str]]
GOOD = fzk_attic().text
END = b"ENDSEC;\nEND-ISO-10303-21;"


def test_a_model_becomes_a_proposed_survey_and_that_a_job(
    office: Office, work_now: WorkNow, plan_now: Callable[[Office, str], None]
) -> None:
    sent = office.upload("/v1/surveys", GOOD, name="plans/Plot 14 (attic).ifc")
    here = f"/v1/surveys/{sent.json['id']}"
    assert (sent.status_code, sent.headers["Location"], sent.headers["Retry-After"]) == (202, here, "1")
    assert (sent.json["filename"], sent.json["size"]) == ("Plot 14 -attic-.ifc", len(GOOD))
    assert sent.json["proposal"] is None
    assert work_now(office) == ["read"]
    read = office.get(here).json
    assert (read["status"], read["problem"]) == ("ready", None)
    proposal = read["proposal"]
    # published figures of the attic: volume 217.532 m³, floor 107.16 m² (see tests/published)
    assert proposal["volume_m3"] == pytest.approx(217.532, rel=1e-3)
    assert proposal["floor_area_m2"] == pytest.approx(107.16, rel=1e-3)
    assert proposal["notes"]
    job = office.post(
        "/v1/jobs",
        {"reference": "ATTIC", "surfaces": proposal["surfaces"], "junctions": proposal["junctions"]},
    )
    assert job.status_code == 202, job.text
    plan_now(office, job.json["id"])
    assert office.get(f"/v1/jobs/{job.json['id']}/plan").json["status"] == "ready"
    assert [each["id"] for each in office.get("/v1/surveys").json["items"]] == [read["id"]]


@pytest.mark.parametrize(
    ("model", "words"),
    [
        (b"PK\x03\x04 zipped", "not zipped"),
        (GOOD[: len(GOOD) // 2], "cut short"),
        (b"ISO-10303-21;\n" + bytes(range(256)) * 200 + b"\nEND-ISO-10303-21;", "cannot be read"),
        (GOOD.replace(b"11400.", b"1.E300"), ""),
        (GOOD.replace(END, b"#999999=IFCLOCALPLACEMENT(#999999,$);\n" + END).replace(
            b"IFCLOCALPLACEMENT($,", b"IFCLOCALPLACEMENT(#999999,"), ""),
    ],
)  # fmt: skip
def test_a_broken_or_hostile_model_ends_in_words_and_the_worker_goes_on(
    office: Office, work_now: WorkNow, model: bytes, words: str
) -> None:
    sent = office.upload("/v1/surveys", model).json["id"]
    assert work_now(office) == ["read"]  # once: what cannot be read is not tried again
    read = office.get(f"/v1/surveys/{sent}").json
    assert (read["status"], read["final"], read["problem"]["code"]) == ("failed", True, "model_not_read")
    assert words in read["problem"]["detail"]
    assert read["problem"]["detail"].endswith(".")
    assert "/" not in read["problem"]["detail"].replace("and/or", "")
    assert office.post("/v1/pressure-tests", TEST).status_code == 202
    assert work_now(office)[0] == "analyse"


def test_a_huge_model_that_takes_too_long_is_given_up(
    office: Office, work_now: WorkNow, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(model_files, "SECONDS", 1)
    sets = b"".join(b"#%d=IFCPROPERTYSET($,$,$,$,());\n" % (10**5 + i) for i in range(550_000))
    sent = office.upload("/v1/surveys", GOOD.replace(END, sets + END))
    assert sent.status_code == 202
    work_now(office)
    read = office.get(f"/v1/surveys/{sent.json['id']}").json
    assert (read["status"], read["problem"]["code"]) == ("failed", "model_not_read")
    assert "within 1 s" in read["problem"]["detail"]


def test_a_server_without_the_reader_says_so(
    office: Office, work_now: WorkNow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # the reader's process finds, before ours, a library that is not there
    (tmp_path / "ifcopenshell.py").write_text("raise ModuleNotFoundError('gone', name='ifcopenshell')\n")
    root = the_module.__globals__["_ROOT"]
    monkeypatch.setitem(the_module.__globals__, "_ROOT", f"{tmp_path}:{root}")
    sent = office.upload("/v1/surveys", GOOD).json["id"]
    work_now(office)
    problem = office.get(f"/v1/surveys/{sent}").json["problem"]
    assert (problem["status"], problem["code"]) == (501, "models_not_read_here")
    assert "lapwise[ifc]" in problem["detail"]


def test_what_is_no_form_with_one_file_is_refused(office: Office) -> None:
    wrong = office.post("/v1/surveys", {"file": "x"})
    assert (wrong.status_code, wrong.json["code"]) == (415, "wrong_media_type")
    bare = office.send("POST", "/v1/surveys", GOOD, Content_Type="multipart/form-data")
    assert bare.status_code == 400
    cut = office.send(
        "POST", "/v1/surveys", b"--part\r\nCont", Content_Type="multipart/form-data; boundary=part"
    )
    assert cut.status_code == 400
    other = office.upload("/v1/surveys", GOOD, part="model")
    assert (other.status_code, other.json["errors"][0]["pointer"]) == (422, "/file")
    assert office.upload("/v1/surveys", b"").status_code == 422
    assert office.get("/v1/surveys").json["items"] == []


def test_a_huge_model_is_refused_and_other_requests_keep_their_own_limit(office: Office) -> None:
    assert office.upload("/v1/surveys", bytes(models.MOST_BYTES)).status_code == 202
    over = office.upload("/v1/surveys", bytes(models.MOST_BYTES + 1))
    assert (over.status_code, over.json["code"]) == (413, "too_large")
    assert "20 MiB" in over.json["detail"]
    far_over = office.upload("/v1/surveys", bytes(models.MOST_BYTES + 10**6))
    assert far_over.status_code == 413
    six = b'{"reference": "' + b"x" * 6 * 1024 * 1024 + b'"}'
    assert office.send("POST", "/v1/jobs", six).status_code == 413


def test_the_same_model_sent_again_with_its_key_is_the_same(office: Office) -> None:
    first = office.upload("/v1/surveys", GOOD, Idempotency_Key="one")
    again = office.upload("/v1/surveys", GOOD, Idempotency_Key="one")
    assert again.json == first.json
    assert again.headers["Idempotency-Replayed"] == "true"
