"""The last touch to a PDF, by WeasyPrint's own hook, before it is written."""

from __future__ import annotations

import zlib
from typing import Any

import pydyf

_LEVEL = 6  # of zlib; the highest, which pydyf takes, is three times the work for a fortieth of the bytes


def finish(_document: object, pdf: Any) -> None:
    """Names each attached file once, and packs the streams."""
    _name_files_once(pdf)
    for one in pdf.objects:
        if isinstance(one, pydyf.Stream):
            _pack(one)


def _name_files_once(pdf: Any) -> None:
    """WeasyPrint 70 finds a file by its name and again among the objects, and lists it for both."""
    files = pdf.catalog.get("AF")
    if files is not None:
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(files))


def _pack(stream: Any) -> None:
    """As pydyf would, with less trouble."""
    if not stream.compress:
        return
    stream.compress = False
    content = stream.data.partition(b"stream\n")[2].removesuffix(b"\nendstream")
    stream.stream = [zlib.compress(content, _LEVEL)]
    stream.extra["Filter"] = "/FlateDecode"
