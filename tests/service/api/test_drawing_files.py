"""Drawings as PDF and DXF: made once somebody wants them, and anew once a leak was drawn."""

import io
import zipfile
from collections.abc import Callable

from service.api.leakage import LEAK
from tests.service.api.office import Office

WorkNow = Callable[[Office], list[str]]
WISH = {"kind": "drawing_files"}


def test_drawings_are_given_as_pdf_and_dxf_once_they_were_asked_for(
    office: Office, work_now: WorkNow
) -> None:
    job = office.job()
    here = f"/v1/jobs/{job}"
    assert office.get(f"{here}/drawings/living-north.pdf").json["code"] == "plan_not_ready"
    work_now(office)
    early = office.get(f"{here}/drawings/living-north.pdf")
    assert (early.status_code, early.json["code"]) == (409, "not_rendered_yet")
    assert "drawing_files" in early.json["detail"]
    assert "Retry-After" not in early.headers
    assert office.post(f"{here}/documents", WISH).status_code == 202
    assert office.get(f"{here}/drawings/living-north.dxf").headers["Retry-After"] == "1"
    assert work_now(office) == ["drawing_files"]
    made = office.post(f"{here}/documents", WISH)
    assert made.status_code == 201
    whole = office.get(made.json["links"]["document"])
    assert whole.content_type == "application/zip"
    with zipfile.ZipFile(io.BytesIO(whole.data)) as file:
        names = file.namelist()
        for ending, media_type, start in (
            ("pdf", "application/pdf", b"%PDF"),
            ("dxf", "image/vnd.dxf", b"  0\nSECTION"),
        ):
            got = office.get(f"{here}/drawings/living-north.{ending}")
            assert (got.status_code, got.content_type) == (200, media_type)
            assert got.data == file.read(f"living-north.{ending}")
            assert got.data.startswith(start)
            again = office.get(f"{here}/drawings/living-north.{ending}", If_None_Match=got.headers["ETag"])
            assert again.status_code == 304
            assert office.get(f"{here}/drawings/attic.{ending}").status_code == 404
    assert len(names) == 3 * len({name.rpartition(".")[0] for name in names})
    assert office.post(f"{here}/documents", WISH).json["document"] == made.json["document"]


def test_a_leak_drawn_since_asks_for_newer_files(office: Office, work_now: WorkNow) -> None:
    job = office.job()
    work_now(office)
    office.post(f"/v1/jobs/{job}/documents", WISH)
    work_now(office)
    first = office.post(f"/v1/jobs/{job}/documents", WISH).json["document"]
    office.post(f"/v1/jobs/{job}/leaks", LEAK)
    work_now(office)
    assert office.get(f"/v1/jobs/{job}/drawings/living-north.pdf").status_code == 409
    office.post(f"/v1/jobs/{job}/documents", WISH)
    work_now(office)
    assert office.post(f"/v1/jobs/{job}/documents", WISH).json["document"] != first
    assert office.get(f"/v1/jobs/{job}/drawings/living-north.pdf").status_code == 200
