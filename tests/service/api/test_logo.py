"""The firm's logo: taken, cleaned, shown on its documents, removed."""

import io
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from tests.service.api.office import Office


def picture(kind: str = "PNG", size: tuple[int, int] = (300, 100), **saved: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (31, 92, 87)).save(out, kind, **saved)
    return out.getvalue()


def put(office: Office, content: bytes) -> Any:
    return office.client.put(
        "/v1/account/logo",
        data=content,
        headers={"Authorization": f"Bearer {office.key}", "Content-Type": "application/octet-stream"},
    )


def got(office: Office) -> Any:
    return office.client.get("/v1/account/logo", headers={"Authorization": f"Bearer {office.key}"})


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_logo_comes_back_as_plain_png_without_what_else_was_in_the_file(office: Office, kind: str) -> None:
    secret = Image.Exif()
    secret[0x010E] = "where the picture was taken"
    answer = put(office, picture(kind, exif=secret.tobytes()))
    assert answer.status_code == 200, answer.text
    content = got(office).data
    assert content.startswith(b"\x89PNG")
    assert b"taken" not in content
    assert Image.open(io.BytesIO(content)).size == (300, 100)


def test_what_is_no_picture_or_too_large_is_refused_in_words(office: Office) -> None:
    for content, words in (
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no PNG or JPEG"),
        (picture()[:60], "no PNG or JPEG"),
        (picture(size=(3000, 2000)), "4 megapixels"),
        (picture(size=(300, 4)), "smaller than 16"),
        (picture() + b"\0" * 1024 * 1024, "1 MiB"),
    ):
        answer = put(office, content)
        assert answer.status_code == 422, words
        assert words in answer.text
    assert got(office).status_code == 404


def test_a_logo_is_removed_and_another_account_never_had_it(office: Office, office_of: Any) -> None:
    put(office, picture())
    assert got(office_of()).status_code == 404
    for _ in range(2):
        answer = office.client.delete("/v1/account/logo", headers={"Authorization": f"Bearer {office.key}"})
        assert answer.status_code == 204
    assert got(office).status_code == 404


def test_the_logo_of_the_moment_is_on_the_site_pack_and_labels_are_made_when_asked_for(
    office: Office, work_now: Any
) -> None:
    put(office, picture())
    job = office.job()
    work_now(office)
    papers = office.get(f"/v1/jobs/{job}/documents").json["items"]
    (pack,) = [one for one in papers if one["kind"] == "site_pack"]
    pages = PdfReader(io.BytesIO(office.get(f"/v1/documents/{pack['id']}").data)).pages
    assert len(pages[0].images) == 1
    assert office.post(f"/v1/jobs/{job}/documents", {"kind": "cut_labels"}).status_code == 202
    work_now(office)
    made = office.post(f"/v1/jobs/{job}/documents", {"kind": "cut_labels"})
    assert made.status_code == 201
    labels = office.get(f"/v1/documents/{made.json['document']}").data
    assert "1a" in PdfReader(io.BytesIO(labels)).pages[0].extract_text()
