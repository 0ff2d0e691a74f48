"""A quote and an order carry themselves, for machines, as files inside the PDF."""

from __future__ import annotations

import datetime
import io

import pypdf
import pytest

from tests.documents.test_ubl import ORDER, PROFILE, QUOTE, schema
from workers.documents import render_order, render_quote
from workers.documents.ubl import order_xml, quotation_xml

MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)


@pytest.mark.parametrize(
    ("pdf", "name", "xml", "kind"),
    [
        (lambda: render_quote(QUOTE, PROFILE, made_at=MADE_AT), "quotation-2026-0001-1.xml", quotation_xml(QUOTE, PROFILE), "Quotation"),
        (lambda: render_order(ORDER, PROFILE, made_at=MADE_AT), "order-O-2026-0001.xml", order_xml(ORDER, PROFILE), "Order"),
    ],
)  # fmt: skip
def test_the_pdf_holds_its_own_ubl_and_says_what_it_is(pdf, name, xml, kind):
    from lxml import etree  # noqa: PLC0415

    written = pdf()
    read = pypdf.PdfReader(io.BytesIO(written))
    assert read.attachments == {name: [xml]}
    schema(kind).assertValid(etree.fromstring(read.attachments[name][0]))
    catalogue = read.trailer["/Root"]
    files = [file.get_object() for file in catalogue["/AF"]]
    assert [file["/UF"] for file in files] == [name]
    assert {file["/AFRelationship"] for file in files} == {"/Alternative"}
    metadata = catalogue["/Metadata"].get_data()
    assert b'pdfaid:part="3"' in metadata
    assert b'pdfaid:conformance="A"' in metadata
    assert written == pdf()
