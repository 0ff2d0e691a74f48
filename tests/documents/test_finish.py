"""The last touch to a PDF: files named once, streams packed with little trouble."""

import io
import re
import zlib
from dataclasses import replace

import pydyf
import pytest
from pypdf import PdfReader

from tests.documents import example_plan as example
from tests.documents.pdf_a import faults_of
from workers.documents import render_order, renderer
from workers.documents.finish import Pdf, finish


def _order() -> bytes:
    return render_order(example.ORDER, example.PROFILE, made_at=example.MADE_AT)


def _unpacked(pdf: bytes) -> list[bytes]:
    """Its streams but the last, which says where in the file things stand."""
    found = re.findall(rb"\nstream\n(.*?)\nendstream", pdf, re.S)
    return [zlib.decompress(one) for one in found][:-1]


def test_without_it_a_file_would_be_named_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    assert faults_of(_order()) == []
    monkeypatch.setattr(renderer, "finish", None)
    assert [fault for fault in faults_of(_order()) if "more than once" in fault]


def test_pages_and_fonts_are_packed_and_read_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    ours = _order()
    monkeypatch.setattr(renderer, "finish", None)
    theirs = _order()
    said = [[page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages] for pdf in (ours, theirs)]
    assert said[0] == said[1]
    quick, thorough = (
        b"stream\n\x78\x9c",
        b"stream\n\x78\xda",
    )  # RFC 1950: how hard it was tried stands in front
    assert theirs.count(quick) == 0
    assert (ours.count(quick), ours.count(thorough)) == (theirs.count(thorough), 0)


def test_pages_are_collected_in_our_own_file_and_come_out_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[type] = []

    def watched(document: object, pdf: pydyf.PDF) -> None:
        seen.append(type(pdf))
        finish(document, pdf)

    monkeypatch.setattr(renderer, "finish", watched)
    line = example.ORDER_LINES[1]
    order = replace(example.ORDER, lines=tuple(replace(line, product=f"tape-{n}") for n in range(130)))
    ours = render_order(order, example.PROFILE, made_at=example.MADE_AT)
    monkeypatch.setattr(renderer, "Pdf", pydyf.PDF)
    theirs = render_order(order, example.PROFILE, made_at=example.MADE_AT)
    assert _unpacked(ours) == _unpacked(theirs)
    assert seen == [Pdf, pydyf.PDF]
    assert len(PdfReader(io.BytesIO(ours)).pages) > 2


def test_references_follow_the_pages() -> None:
    ours, theirs = Pdf(), pydyf.PDF()
    for _ in range(3):
        for pdf in (ours, theirs):
            pdf.add_page(pydyf.Dictionary())
        assert ours.page_references == ours.page_references == theirs.page_references


def test_a_stream_is_packed_once_whatever_it_is_made_of() -> None:
    pdf = pydyf.PDF()
    stream, bare = pydyf.Stream([b"q", 1.5, "w"], compress=True), pydyf.Stream([b"q"])
    pdf.add_object(stream)
    pdf.add_object(bare)
    for _ in range(2):
        finish(None, pdf)
        assert zlib.decompress(stream.stream[0]) == b"q\n1.5\nw"
        assert stream.data.count(b"/FlateDecode") == 1
    assert bare.stream == [b"q"]
