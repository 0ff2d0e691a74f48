"""HTML to PDF, by WeasyPrint: the stylesheet and the fonts read once a process, nothing ever fetched.

All that a page may use is handed over in memory under `asset:` names. Whatever else a page asks for ends the
rendering, since a document that silently lacks a part is worse than none.
"""

from __future__ import annotations

import datetime
import gc
import logging
import os
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from workers.documents.errors import DocumentError

_HERE = Path(__file__).parent
_VARIANT = "pdf/ua-1"
_KINDS = {".svg": "image/svg+xml", ".png": "image/png", ".ttf": "font/ttf"}
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


def to_pdf(html: str, assets: Mapping[str, bytes], made_at: datetime.datetime) -> bytes:
    """A page as a tagged PDF; identical input gives identical bytes. Raises `DocumentError`.

    `assets` are what the page may show, by their `asset:` name; `made_at` is the only time the file carries.
    """
    fonts, css = _style()
    with _one_at_a_time, _clock_standing_at(made_at), _no_garbage_collection(), _complaints() as complaints:
        try:
            page = HTML(string=html, base_url="asset:", url_fetcher=AssetFetcher({**_fonts(), **assets}))
            written = page.write_pdf(stylesheets=[css], font_config=fonts, pdf_variant=_VARIANT)
        except FatalURLFetchingError as refusal:  # a BaseException: it would pass ordinary error handling
            raise DocumentError(f"The document could not be made: {refusal.__cause__}.") from refusal
    if complaints:  # WeasyPrint logs what it leaves out, such as a drawing that fails, and goes on
        raise DocumentError(f"The document could not be made: {'; '.join(complaints)}.")
    return bytes(written)


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
