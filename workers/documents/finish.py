"""The file a PDF is collected in, and the last touch to it, by WeasyPrint's own hook, before it is written."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pydyf

_LEVEL = 6  # of zlib; the highest, which pydyf takes, is three times the work for a fortieth of the bytes


class Pdf(pydyf.PDF):  # type: ignore[misc]
    """Reckons the references of its pages when there are more of them; pydyf does it for every tag of every page.

    Once it is `finished`, what is added to it is packed with less trouble too.
    """

    finished = False
    _of_pages = 0
    _references: tuple[bytes, ...] = ()

    @property
    def page_references(self) -> tuple[bytes, ...]:
        """One a page, in their order."""
        if len(self.pages["Kids"]) != self._of_pages:
            self._of_pages, self._references = len(self.pages["Kids"]), super().page_references
        return self._references

    def add_object(self, object_: Any) -> None:
        """As the last ones, pydyf adds a stream of the objects that are none, and one of where everything stands."""
        super().add_object(object_)
        if self.finished:
            _pack(object_)


@contextmanager
def collected_in(kind: type[pydyf.PDF]) -> Iterator[None]:
    """WeasyPrint takes the class by its name in pydyf, and another cannot be handed to it."""
    theirs, pydyf.PDF = pydyf.PDF, kind
    try:
        yield
    finally:
        pydyf.PDF = theirs


def finish(_document: object, pdf: Any) -> None:
    """Names each attached file once, and packs the streams."""
    _name_files_once(pdf)
    for one in pdf.objects:
        _pack(one)
    pdf.finished = True


def _name_files_once(pdf: Any) -> None:
    """WeasyPrint 70 finds a file by its name and again among the objects, and lists it for both."""
    files = pdf.catalog.get("AF")
    if files is not None:
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(files))


def _pack(one: Any) -> None:
    """As pydyf would pack it, with less trouble, where it is a stream that is not packed yet."""
    if isinstance(one, pydyf.Stream) and one.compress:
        one.compress = False
        content = one.data.partition(b"stream\n")[2].removesuffix(b"\nendstream")
        one.stream = [zlib.compress(content, _LEVEL)]
        one.extra["Filter"] = "/FlateDecode"
