"""The table as a spreadsheet, OOXML (ISO/IEC 29500). Only values are read: no formulas, links, macros or pictures.

The spreadsheet library brings numpy along, so it is loaded when the first spreadsheet comes, not with the service.
"""

from __future__ import annotations

import datetime
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any
from xml.etree.ElementTree import ParseError

from api_schema.problem import Fault
from service.sheets.bad_table import BadTable
from service.sheets.columns import COLUMNS
from service.sheets.styles import told_apart
from service.sheets.table import LONGEST_CELL, MOST_ROWS
from service.sheets.writings import Exact

MEDIA_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_MOST_FILES = 200
_LARGEST_BYTES = 40 * 1024 * 1024  # unpacked; 5 000 rows take about 3
_SHOWN_DIGITS = (
    15  # what spreadsheets show of a number: a price raised by a formula is 72.6, not 72.60000000000001
)
_SAME_DAY = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC).replace(
    tzinfo=None
)  # files of one content are alike


def written(rows: Iterable[Sequence[str]]) -> bytes:
    """The rows under their heading; every cell is text, so that nothing turns into a formula or another number."""
    from openpyxl import Workbook  # noqa: PLC0415

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Price book")
    sheet.freeze_panes = "A2"
    sheet.append([_text(sheet, name, bold=True) for name in COLUMNS])
    for row in told_apart(rows):
        sheet.append([_text(sheet, cell) for cell in row])
    book.properties.creator = "Lapwise"
    book.properties.created = book.properties.modified = _SAME_DAY
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read(content: bytes) -> Iterator[list[str]]:
    """The rows of the first sheet, heading first. Raises BadTable where it is no such file, or an absurd one."""
    from openpyxl import load_workbook  # noqa: PLC0415

    _check(content)
    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
    except (KeyError, ValueError, TypeError, AttributeError, ParseError, OSError, zipfile.BadZipFile):
        raise BadTable([Fault("", "is no spreadsheet that can be read; save it as .xlsx.")]) from None
    try:
        if not book.worksheets:
            raise BadTable([Fault("", "has no sheet.")])
        sheet = book.worksheets[0]
        rows: list[list[str]] = []
        for number, row in enumerate(sheet.iter_rows(max_col=len(COLUMNS) + 10, values_only=True), start=1):
            if number > MOST_ROWS + 1:
                raise BadTable([Fault("", f"has more than {MOST_ROWS} rows. Split the price book.")])
            cells = [_said(value, number) for value in row]
            while cells and not cells[-1]:
                cells.pop()
            rows.append(cells)
    except (
        KeyError,
        ValueError,
        TypeError,
        AttributeError,
        ParseError,
        OSError,
        zipfile.BadZipFile,
    ) as error:
        if isinstance(error, BadTable):
            raise
        raise BadTable([Fault("", "is no spreadsheet that can be read; save it as .xlsx.")]) from None
    finally:
        book.close()
    return iter(rows)


def _check(content: bytes) -> None:
    """Refuses files that unpack to far more than a price book, or whose XML declares things of its own."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            members = packed.infolist()
            if len(members) > _MOST_FILES or sum(one.file_size for one in members) > _LARGEST_BYTES:
                raise BadTable(
                    [Fault("", "unpacks to far more than a price book. Keep the one sheet in it.")]
                )
            for one in members:
                if one.filename.endswith((".xml", ".rels")):
                    with packed.open(one) as part:
                        beginning = part.read(_LARGEST_BYTES + 1)
                    if (
                        len(beginning) > _LARGEST_BYTES
                        or b"<!DOCTYPE" in beginning
                        or b"<!ENTITY" in beginning
                    ):
                        raise BadTable([Fault("", "holds XML that no spreadsheet program writes.")])
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError):
        raise BadTable([Fault("", "is no spreadsheet that can be read; save it as .xlsx.")]) from None


def _said(value: Any, row: int) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime.datetime):
        return Exact(value.date().isoformat())
    if isinstance(value, float):
        return Exact(format(Decimal(f"{value:.{_SHOWN_DIGITS}g}"), "f"))
    if isinstance(value, int) and not isinstance(value, bool):
        return Exact(value)
    said = str(value)
    if len(said) > LONGEST_CELL:
        raise BadTable([Fault(f"/rows/{row}", "has a cell that is far too long.")])
    return said


def _text(sheet: Any, value: str, *, bold: bool = False) -> Any:
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.styles import Font  # noqa: PLC0415

    cell = WriteOnlyCell(sheet, value=value or None)
    if value:
        cell.data_type = "s"
    if bold:
        cell.font = Font(bold=True)
    return cell
