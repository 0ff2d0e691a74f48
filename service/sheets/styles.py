"""How a table is written out: plainly, or as the spreadsheets of an account's language write it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from babel import Locale, UnknownLocaleError
from babel.numbers import get_decimal_symbol

from service.sheets.columns import AMOUNTS, BREAKS, COLUMNS, DAYS
from service.sheets.settling import parts_of
from service.sheets.writings import is_open


@dataclass(frozen=True, slots=True)
class Style:
    """What parts cells and decimals; are days written 31.12.2026, or as ISO 8601?"""

    separator: str = ","
    sign: str = "."
    pointed_days: bool = False
    mark: bool = False
    """Does a byte order mark stand first? Some spreadsheets take a file for UTF-8 only then."""


PLAIN = Style()


def style_of(language: str) -> Style:
    """The style of a language such as de_DE, by the Unicode CLDR data: semicolons where the decimal sign is a comma.

    Days have points where the language has the day first and points; elsewhere they stay ISO 8601, which spreadsheets
    of every language read, and which does not leave open whether day or month comes first.
    """
    try:
        locale = Locale.parse(language)
    except (UnknownLocaleError, ValueError):
        return Style(mark=True)
    comma = get_decimal_symbol(locale) == ","
    short = locale.date_formats["short"].pattern.replace(" ", "")
    pointed = short.startswith("d") and "." in short
    return Style(";" if comma else ",", "," if comma else ".", pointed, mark=True)  # fmt: skip


def told_apart(rows: Iterable[Sequence[str]]) -> list[list[str]]:
    """Rows in plain writing, so that they are read again for what they are.

    Where nothing in the whole table shows the decimal sign, numbers that look like thousands, 1.234, get one more 0.
    """
    cells = [list(row) for row in rows]
    unsure: list[tuple[int, int]] = []
    for place, row in enumerate(cells):
        for column, (name, cell) in enumerate(zip(COLUMNS, row, strict=False)):
            if cell and (name in AMOUNTS or name == BREAKS):
                found = [part for part in parts_of(name, cell) if not isinstance(part, str)]
                if any(len(part) == 1 for part in found):
                    return cells
                if any(is_open(part) for part in found):
                    unsure.append((place, column))
    for place, column in unsure:
        cells[place][column] = "".join(
            part if isinstance(part, str) else part["."].plain + "0" * is_open(part)
            for part in parts_of(COLUMNS[column], cells[place][column])
        )
    return cells


def styled(rows: Iterable[Sequence[str]], style: Style) -> list[list[str]]:
    """Rows in plain writing, written in a style."""
    return [
        [_styled(name, cell, style) for name, cell in zip(COLUMNS, row, strict=False)]
        for row in told_apart(rows)
    ]


def _styled(name: str, cell: str, style: Style) -> str:
    if name in AMOUNTS or name == BREAKS:
        return cell.replace(".", style.sign)
    if name in DAYS and cell and style.pointed_days:
        year, month, day = cell.split("-")
        return f"{day}.{month}.{year}"
    return cell
