"""The table as CSV: RFC 4180, UTF-8, comma or semicolon."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from api_schema.problem import Fault
from service.sheets.columns import COLUMNS
from service.sheets.reading import BadTable

MEDIA_TYPE = "text/csv"
_LONGEST_CELL = 2000
_FORMULA = re.compile(r"'*[=+\-@\t\r]")


def written(rows: Iterable[Sequence[str]]) -> bytes:
    """The rows under their heading. A cell that a spreadsheet would take for a formula gets an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows([_guarded(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def read(content: bytes) -> Iterator[list[str]]:
    """The rows, heading first. Raises BadTable where it is no such text."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadTable(
            [Fault("", f"is not UTF-8: byte {error.start} cannot be read. Save it as CSV UTF-8.")]
        ) from None
    heading = text.split("\n", 1)[0]
    delimiter = ";" if heading.count(";") > heading.count(",") else ","
    if "\x00" in text:
        raise BadTable([Fault("", "holds characters no text has; is it a spreadsheet file?")])
    return _rows(text, delimiter)


def _rows(text: str, delimiter: str) -> Iterator[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for row in reader:
            if any(len(cell) > _LONGEST_CELL for cell in row):
                raise BadTable([Fault(f"/rows/{reader.line_num}", "has a cell that is far too long.")])
            yield [_unguarded(cell) for cell in row]
    except csv.Error as error:
        raise BadTable([Fault(f"/rows/{reader.line_num}", f"cannot be read as CSV: {error}.")]) from None


def _guarded(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def _unguarded(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and _FORMULA.match(cell) else cell
