"""Documents that carry files say they are PDF/A-3; those that carry none do not say so."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pypdf
import pytest
from PIL import Image
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

from tests.documents.example_plan import JOB, MADE_AT, ORDER, PLAN, PROFILE, QUOTE
from tests.documents.pdf_a import faults_of
from workers.documents import render_cut_labels, render_order, render_quote
from workers.documents.letterhead import Letterhead


@pytest.fixture(scope="module")
def quote() -> bytes:
    return render_quote(QUOTE, PROFILE, made_at=MADE_AT)


def test_a_quote_has_the_structure_of_pdf_a_3(quote: bytes) -> None:
    assert faults_of(quote) == []


def test_a_logo_one_can_see_through_keeps_it_pdf_a_3() -> None:
    picture = io.BytesIO()
    Image.new("RGBA", (60, 20), (31, 92, 87, 120)).save(picture, "PNG")
    letterhead = Letterhead(picture.getvalue())
    assert faults_of(render_quote(QUOTE, PROFILE, made_at=MADE_AT, letterhead=letterhead)) == []


def test_an_order_has_the_structure_of_pdf_a_3() -> None:
    assert faults_of(render_order(ORDER, PROFILE, made_at=MADE_AT)) == []


def test_a_document_without_files_does_not_claim_to_be_pdf_a() -> None:
    draft = render_cut_labels(JOB, PLAN, PROFILE, made_at=MADE_AT)
    assert "6.6.4: it does not say that it is PDF/A-3, level A" in faults_of(draft)
    assert b"pdfaid" not in pypdf.PdfReader(io.BytesIO(draft)).trailer["/Root"]["/Metadata"].get_data()


def _without(*names: str) -> Callable[[Any], None]:
    def spoil(root: Any) -> None:
        for name in names:
            del root[NameObject(name)]

    return spoil


def _open_script(root: Any) -> None:
    root[NameObject("/OpenAction")] = DictionaryObject(
        {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("1")}
    )


def _no_relationship(root: Any) -> None:
    for spec in root["/AF"]:
        spec.get_object().pop("/AFRelationship", None)


def _no_font_file(root: Any) -> None:
    font = next(iter(root["/Pages"]["/Kids"][0]["/Resources"]["/Font"].values())).get_object()
    descriptor = font["/DescendantFonts"][0]["/FontDescriptor"]
    del descriptor[NameObject("/FontFile2")]


def _not_associated(root: Any) -> None:
    root[NameObject("/AF")] = ArrayObject()


def _named_twice(root: Any) -> None:
    root["/AF"].append(root["/AF"][0])


@pytest.mark.parametrize(
    ("spoil", "clause"),
    [
        (_without("/OutputIntents"), "6.2.3"), (_without("/Lang"), "6.7.4"), (_without("/StructTreeRoot"), "6.7.3.3"),
        (_without("/Metadata"), "6.6.2.1"), (_open_script, "6.5.1"), (_no_relationship, "6.8"), (_no_font_file, "6.2.11.4"),
        (_not_associated, "6.8"), (_named_twice, "6.8"),
    ],
)  # fmt: skip
def test_what_is_spoilt_is_found(quote: bytes, spoil: Callable[[Any], None], clause: str) -> None:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(quote))
    spoil(writer.root_object)
    out = io.BytesIO()
    writer.write(out)
    assert any(fault.startswith(f"{clause}:") for fault in faults_of(out.getvalue()))
