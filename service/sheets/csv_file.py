"""The table as CSV: out as RFC 4180 in UTF-8; in also as spreadsheets of other habits write it.

In it may come with semicolons or tabs between cells, a byte order mark, a first line ``sep=;``, in UTF-16 with its mark,
or in Windows-1252. Which of comma, semicolon and tab parts the cells is settled by the heading, whose words are known.
How numbers and days are read is no matter of this file: see `settling`.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from api_schema.problem import Fault, printable
from service.sheets.bad_table import BadTable
from service.sheets.columns import COLUMNS
from service.sheets.habits import PARTED_BY
from service.sheets.styles import PLAIN, Style, styled
from service.sheets.table import LONGEST_CELL, MOST_CELLS, Table

MEDIA_TYPE = "text/csv"
WINDOWS_1252 = "Windows-1252"
_LONGEST_HEADING = 20_000
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_SEP = re.compile(r"\"?sep=(.)\"?[,;\t]*(?:\r?\n|\r)", re.IGNORECASE)
_OF_WINDOWS_1252 = frozenset(
    [
        "af",
        "ca",
        "da",
        "de",
        "en",
        "es",
        "eu",
        "fi",
        "fo",
        "fr",
        "fy",
        "ga",
        "gd",
        "gl",
        "id",
        "is",
        "it",
        "lb",
        "ms",
        "nb",
        "nl",
        "nn",
        "no",
        "pt",
        "rm",
        "sv",
        "sw",
    ]
)
"""Languages (ISO 639) whose Windows has that code page; from other ones such bytes are other letters."""
_NO_WORD = re.compile(r"[^\W\d_][¿¾½¼§†‡„”“‚¶¢£¥¤¦¡ˆ˜¨¸³¹][^\W\d_]|[a-zß-öø-ÿ][ŠŽŒŸ]")
"""Signs amid a word: letters of another code page."""


def written(rows: Iterable[Sequence[str]], style: Style = PLAIN) -> bytes:
    """The rows under their heading. A cell that a spreadsheet would take for a formula gets an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=style.separator)
    writer.writerow(COLUMNS)
    writer.writerows([_guarded(cell) for cell in row] for row in styled(rows, style))
    return out.getvalue().encode("utf-8-sig" if style.mark else "utf-8")


def read(content: bytes, language: str = "en") -> Table:
    """The table in a file that came from an account of this language. Raises BadTable where it is no such text."""
    text, letters = _decoded(content, language)
    if "\x00" in text:
        raise BadTable([Fault("", "holds characters no text has; is it a spreadsheet file?")])
    said = _SEP.match(text)
    if said is not None:
        text = text[said.end() :]
    separator = _separator(text)
    if said is not None and said[1] != separator:
        raise BadTable(
            [Fault("", f'begins with "sep={printable(said[1])}", but its heading has {PARTED_BY[separator]} between cells. Take that line out.')]
        )  # fmt: skip
    return Table(_rows(text, separator), separator, letters)


def _decoded(content: bytes, language: str) -> tuple[str, str]:
    """The text, and its encoding in words where that is not UTF-8."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return content.decode("utf-16"), "UTF-16"
        except UnicodeDecodeError:
            raise BadTable(
                [Fault("", "begins as UTF-16 and does not go on so. Save it as CSV UTF-8.")]
            ) from None
    try:
        return content.decode("utf-8-sig"), ""
    except UnicodeDecodeError as error:
        refused = BadTable(
            [Fault("", f"is not UTF-8: byte {error.start} cannot be read. Save it as CSV UTF-8.")]
        )
    if (
        content.startswith(codecs.BOM_UTF8)
        or language.replace("-", "_").split("_")[0] not in _OF_WINDOWS_1252
    ):
        raise refused
    try:
        text = content.decode("windows-1252")
    except UnicodeDecodeError:
        raise refused from None
    if _NO_WORD.search(text):
        raise refused
    return text, WINDOWS_1252


def _separator(text: str) -> str:
    """What parts the heading into the most names of columns; where it has none, what is in it most."""
    heading = re.split("[\r\n]", text[: _LONGEST_HEADING + 1], maxsplit=1)[0]
    if len(heading) > _LONGEST_HEADING:
        raise BadTable([Fault("/rows/1", "is far too long for a heading; the first line names the columns.")])

    def names(separator: str) -> tuple[int, int]:
        cells = next(csv.reader([heading], delimiter=separator), [])
        return sum(cell.strip().lower() in COLUMNS for cell in cells), len(cells)

    return max(PARTED_BY, key=names)


def _rows(text: str, separator: str) -> Iterator[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    try:
        for number, row in enumerate(reader, start=1):
            if len(row) > MOST_CELLS:
                raise BadTable(
                    [Fault(f"/rows/{number}", "has far more cells than a price book has columns.")]
                )
            if any(len(cell) > LONGEST_CELL for cell in row):
                raise BadTable([Fault(f"/rows/{number}", "has a cell that is far too long.")])
            yield [_unguarded(cell) for cell in row]
    except csv.Error as error:
        raise BadTable([Fault(f"/rows/{number + 1}", f"cannot be read as CSV: {error}.")]) from None


def _guarded(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def _unguarded(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and _FORMULA.match(cell) else cell
