"""What came out of a batch, in one file: a table of results, and a ZIP of documents."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Row
from sqlalchemy.orm import Session

from service.records import batches, documents
from service.records.store import Store
from service.records.tables import Document

CSV, ZIP = "text/csv; charset=utf-8", "application/zip"
COLUMNS = (
    "position", "reference", "status", "job", "revision", "net_m2", "as_laid_m2", "rolls_opened", "hours_likely",
    "price_net", "price_total", "currency", "problem", "detail",
)  # fmt: skip
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # the first day a ZIP file knows
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def results(session: Session, batch_id: str) -> str:
    """A line for each job of the batch, and one of names."""
    written = io.StringIO()
    table = csv.writer(written)
    table.writerow(COLUMNS)
    after = -1
    while items := batches.list_items(session, batch_id, limit=100, after=after):
        ready = [run.id for _, run in items if run is not None and run.state == "ready"]
        plans = {run_id: _figures(body) for run_id, body in batches.plans_of(session, ready)}
        for item, run in items:
            problem = (item.problem if run is None else run.problem) or {}
            figures = plans.get(run.id, ("",) * 7) if run is not None else ("",) * 7
            table.writerow(
                [
                    item.position, _plain(item.reference), "refused" if run is None else run.state, item.job_id or "",
                    "" if run is None else run.revision, *figures, problem.get("code", ""), _plain(_why(problem)),
                ]
            )  # fmt: skip
        after = items[-1][0].position
    return written.getvalue()


def _figures(plan: dict[str, Any]) -> tuple[Any, ...]:
    totals, price = plan["take_off"]["totals"], plan["price"]
    return (
        totals["net_m2"],
        totals["as_laid_m2"],
        plan["cut_list"]["rolls_opened"],
        plan["labour"]["likely_h"],
        price["net"],
        price["total"],
        price["currency"],
    )


def _why(problem: dict[str, Any]) -> str:
    faults = [f"{fault['pointer']} {fault['detail']}" for fault in problem.get("errors", [])]
    return "; ".join(faults) or str(problem.get("detail", ""))


def _plain(written: str) -> str:
    """So that a spreadsheet takes it for text and not for a formula."""
    return f"'{written}" if written.startswith(_FORMULA) else written


def zipped(store: Store, found: Sequence[Row[Any]]) -> Iterator[bytes]:
    """The bytes of a ZIP file, a document at a time, each read only when it is sent.

    Args:
        store: the database.
        found: (position, reference, document) of each.
    """
    sink = _Sink()
    names: set[str] = set()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_STORED) as file:  # PDFs are packed already
        for position, reference, document in found:
            with store.reading() as session:
                content = documents.content_of(session, document)
            entry = zipfile.ZipInfo(_name(position, reference, document, names), _dated(document))
            entry.external_attr = 0o644 << 16
            file.writestr(entry, content)
            yield sink.taken()
    yield sink.taken()


def _name(position: int, reference: str, document: Document, names: set[str]) -> str:
    folder = f"{position:04d}-{re.sub(r'[^A-Za-z0-9._-]+', '-', reference).strip('-.')}".rstrip("-")
    name = f"{folder}/{document.filename}"
    if name in names:
        name = f"{folder}/{document.id}-{document.filename}"
    names.add(name)
    return name


def _dated(document: Document) -> tuple[int, int, int, int, int, int]:
    made = document.created_at
    return max(_EARLIEST, (made.year, made.month, made.day, made.hour, made.minute, made.second))


class _Sink(io.RawIOBase):
    """Takes what the ZIP writer writes, until it is fetched; cannot be gone back in."""

    def __init__(self) -> None:
        self._held: list[bytes] = []

    def writable(self) -> bool:
        """Always."""
        return True

    def write(self, data: Any) -> int:
        """Holds the bytes."""
        self._held.append(bytes(data))
        return len(data)

    def taken(self) -> bytes:
        """What was written since the last time."""
        held, self._held = b"".join(self._held), []
        return held
