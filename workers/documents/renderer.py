"""HTML to PDF, by WeasyPrint: the stylesheet and the fonts read once a process, nothing ever fetched.

All that a page may use is handed over in memory under `asset:` names. Whatever else a page asks for ends the
rendering, since a document that silently lacks a part is worse than none.
"""

from __future__ import annotations

import datetime
import gc
import hashlib
import io
import logging
import os
import re
import threading
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError, fromstring

from cssselect2 import ElementWrapper
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from workers.documents.errors import DocumentError
from workers.documents.finish import Pdf, collected_in, finish
from workers.documents.ink import Inks

_HERE = Path(__file__).parent
_VARIANT = "pdf/ua-1"
_WITH_FILES = "pdf/a-3a"  # the kind of PDF that may carry other files; tagged too
_KINDS = {".svg": "image/svg+xml", ".png": "image/png", ".ttf": "font/ttf"}
# Elements that HTML leaves open, and characters that XML has no place for.
_UNCLOSED = re.compile(r"<(br|col|img|meta)\b([^<>]*?)/?>")
_NOT_XML = re.compile(r"[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_one_at_a_time = threading.Lock()  # the clock of the process is set while the PDF is written


class AssetFetcher(URLFetcher):
    """Serves `asset:` names from memory and refuses everything else, whatever the protocol."""

    def __init__(self, assets: Mapping[str, bytes]) -> None:
        super().__init__(allowed_protocols=("asset",), allow_redirects=False, fail_on_errors=True)
        self._assets = assets

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:  # noqa: ARG002 - WeasyPrint's signature
        """The asset of that name; raises `ValueError`, which ends the rendering, for anything else."""
        name = url.removeprefix("asset:")
        if name == url or name not in self._assets:
            raise ValueError(f"a page may not ask for {url!r}")
        kind = _KINDS[Path(name).suffix]
        return URLFetcherResponse(url, self._assets[name], {"Content-Type": kind})


@cache
def _fonts() -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted((_HERE / "fonts").glob("*.ttf"))}


@cache
def _style() -> tuple[FontConfiguration, CSS]:
    """The stylesheet with its fonts, parsed once a process."""
    fonts = FontConfiguration()
    css = CSS(
        string=(_HERE / "templates" / "style.css").read_text(encoding="utf-8"),
        font_config=fonts,
        url_fetcher=AssetFetcher(_fonts()),
    )
    return fonts, css


@cache
def _elements() -> CSS:
    """What elements are by themselves, in place of WeasyPrint's longer list, parsed once a process."""
    return CSS(string=(_HERE / "templates" / "elements.css").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Attached:
    """A file inside a PDF that says the same to a machine."""

    name: str
    content: bytes
    description: str


class _Page(HTML):
    """A page read as XML, which is a twentieth of the work of reading HTML; as HTML where it is none."""

    def __init__(self, html: str, fetcher: AssetFetcher) -> None:
        try:
            root = fromstring(_NOT_XML.sub("\ufffd", _UNCLOSED.sub(r"<\1\2/>", html)))  # noqa: S314 - our templates
        except ParseError:
            super().__init__(string=html, base_url="asset:", url_fetcher=fetcher)
            return
        self.base_url, self.url_fetcher, self.media_type = "asset:", fetcher, "print"
        self.wrapper_element = ElementWrapper.from_html_root(root, content_language=None)
        self.etree_element = self.wrapper_element.etree_element

    def _ua_stylesheets(self, forms: bool = False) -> list[CSS]:  # noqa: ARG002 - WeasyPrint's signature
        return [_elements()]


def to_pdf(
    html: str, assets: Mapping[str, bytes], made_at: datetime.datetime, attached: Sequence[Attached] = ()
) -> bytes:
    """A page as a tagged PDF; identical input gives identical bytes. Raises `DocumentError`.

    `assets` are what the page may show, by their `asset:` name; `made_at` is the only time the file carries. With
    files `attached` it is a PDF/A-3 that holds them.
    """
    fonts, css = _style()
    with _one_at_a_time, _clock_standing_at(made_at), _no_garbage_collection(), _complaints() as complaints:
        try:
            page = _Page(html, AssetFetcher({**_fonts(), **assets}))
            with _colour_profile_left_open(), collected_in(Pdf):
                written = page.write_pdf(
                    stylesheets=[css],
                    font_config=fonts,
                    cache=dict(Inks(fonts).of(assets)),
                    pdf_variant=_WITH_FILES if attached else _VARIANT,
                    finisher=finish,
                    attachments=[_attachment(one, made_at) for one in attached],
                    pdf_identifier=_identifier(html, made_at) if attached else None,
                )
        except FatalURLFetchingError as refusal:  # a BaseException: it would pass ordinary error handling
            raise DocumentError(f"The document could not be made: {refusal.__cause__}.") from refusal
    if complaints:  # WeasyPrint logs what it leaves out, such as a drawing that fails, and goes on
        raise DocumentError(f"The document could not be made: {'; '.join(complaints)}.")
    return bytes(written)


def _identifier(html: str, made_at: datetime.datetime) -> bytes:
    """What a PDF/A is told from others by; of the content, where WeasyPrint would throw dice."""
    return hashlib.sha256(f"{made_at.isoformat()}\n{html}".encode()).hexdigest()[:32].encode()


def _attachment(one: Attached, made_at: datetime.datetime) -> Attachment:
    """Bytes in memory, so that nothing is fetched for it."""
    return Attachment(
        file_obj=io.BytesIO(one.content),
        url_fetcher=AssetFetcher({}),
        name=one.name,
        description=one.description,
        created=made_at.astimezone(datetime.UTC),
        modified=made_at.astimezone(datetime.UTC),
        relationship="Alternative",
    )


@contextmanager
def _complaints() -> Iterator[list[str]]:
    """What WeasyPrint logs as an error meanwhile."""
    logger, collector = logging.getLogger("weasyprint"), _Collector(logging.ERROR)
    logger.addHandler(collector)
    try:
        yield collector.said
    finally:
        logger.removeHandler(collector)


class _Collector(logging.Handler):
    def __init__(self, level: int) -> None:
        super().__init__(level)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())


@contextmanager
def _colour_profile_left_open() -> Iterator[None]:
    """WeasyPrint 70 leaves the file of its colour profile to the interpreter to close, which warns of it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        yield


@contextmanager
def _no_garbage_collection() -> Iterator[None]:
    """Boxes of a page refer to each other and live till it is done: looking for dead ones costs a quarter of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@contextmanager
def _clock_standing_at(made_at: datetime.datetime) -> Iterator[None]:
    """The fonts of a PDF carry the time of writing; SOURCE_DATE_EPOCH gives them the document's own."""
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = str(int(made_at.timestamp()))
    try:
        yield
    finally:
        if before is None:
            del os.environ["SOURCE_DATE_EPOCH"]
        else:
            os.environ["SOURCE_DATE_EPOCH"] = before
