"""The price book as a table: out for a spreadsheet, and in again whole or not at all."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from types import ModuleType
from typing import Any

from marshmallow import fields

from api_schema.fields import choice
from api_schema.price_book import PriceBook
from service.api.operation import Answer, Asked, Media, Resource
from service.api.own_values import store_value
from service.api.problems import Refusal, bad_input
from service.records import accounts
from service.records.own_values import get_value
from service.sheets import csv_file, xlsx_file
from service.sheets.columns import COLUMNS, rows_of
from service.sheets.habits import Habits, Told
from service.sheets.reading import BadTable, book_and_habits_from
from service.sheets.styles import PLAIN, style_of
from service.sheets.table import Table
from service.sheets.writings import Order, Sign

_HOW_READ = (
    "Numbers may have a decimal point or a decimal comma, and between thousands the other of the two, spaces or "
    "apostrophes; days may be written 2026-12-31, 31.12.2026 or 31/12/2026. This is settled once for the whole file, by "
    "the numbers and days that have one reading only: 42.50 or 1,234,567 shows a decimal point, 42,50 or 0,125 a decimal "
    "comma, 31/12/2026 the day first. What has two readings, 1,234 or 03/04/2026, is read as those show; where none "
    "shows it, or they contradict each other, it is refused by name, with both readings. `decimal_sign` and `days` say "
    "it beforehand. `Lapwise-Read-As` of the answer, and `detail` of a refusal, say how the file was read."
)
_OF_CSV = (
    " Commas, semicolons or tabs part the cells, whichever part the heading into its columns; a first line `sep=;`, a "
    "byte order mark and UTF-16 with its mark are taken, and Windows-1252 where the language of the account is one that "
    "is written in it. In a file with commas between cells, a decimal comma needs quotes."
)
_OF_SPREADSHEET = " Cells that hold numbers and days, not text, are taken as they are."

price_sheets = Resource(
    "price-book-tables",
    "Price book as a table",
    f"The products of the price book as CSV or spreadsheet, a row for each pack. Columns: {', '.join(COLUMNS)}.",
)

_SIGNS: Mapping[str, Sign] = {"point": ".", "comma": ","}
_ORDERS: Mapping[str, Order] = {"day_first": "day_first", "month_first": "month_first"}
_MOST_NAMED = 5
_TELLS: Mapping[str, fields.Field[Any]] = {
    "decimal_sign": choice(
        "The decimal sign of every number in the table; as the table shows where not said.", tuple(_SIGNS), example="comma"
    ),
    "days": choice(
        "What comes first in days such as 03/04/2026; as the table shows where not said.", tuple(_ORDERS)
    ),
}  # fmt: skip
_STYLES: Mapping[str, fields.Field[Any]] = {
    "style": choice(
        "plain: commas between cells, decimal points, days as 2026-12-31. account: as spreadsheets of the account's "
        "language write it, semicolons and decimal commas for most.",
        ("plain", "account"),
    )
}


def told_by(query: Mapping[str, Any]) -> Told:
    """What the parameters say of how the table is written."""
    return Told(_SIGNS.get(query.get("decimal_sign", "")), _ORDERS.get(query.get("days", "")))


def table_of(asked: Asked, file: ModuleType, content: bytes) -> Table:
    """The table in a file of the account. Raises BadTable."""
    if file is xlsx_file:
        return xlsx_file.read(content)
    return csv_file.read(content, _language(asked))


def _language(asked: Asked) -> str:
    account = accounts.get_account(asked.session, asked.caller.account_id)
    return str(account.profile.get("language", "en_GB"))


def _said(habits: Habits) -> str:
    """How a table was read, for a header: ASCII, and not without end."""
    named = [
        f"row {one.row}, {one.column}: {one.written:.40} as {one.read:.40}" for one in habits.by_the_others
    ]
    more = len(named) - _MOST_NAMED
    said = "; ".join([str(habits), *named[:_MOST_NAMED], *([f"and {more} more"] if more > 0 else [])])
    return said.encode("ascii", "replace").decode()


def _refused(bad: BadTable) -> Refusal:
    refusal = bad_input(bad.faults)
    if bad.habits is not None:
        refusal.detail += f" The table was read as: {bad.habits}."
    return refusal


def _operations(suffix: str, name: str, file: ModuleType) -> None:
    path = f"/v1/price-book.{suffix}"
    media = Media(file.MEDIA_TYPE, f"The products of the price book as {name}, a row for each pack.")

    def get(asked: Asked) -> Answer:
        value = get_value(asked.session, asked.caller.account_id, "price_book")
        book: PriceBook = value.record()
        rows = rows_of(book)
        of_account = asked.query.get("style") == "account"
        content = (
            csv_file.written(rows, style_of(_language(asked)) if of_account else PLAIN)
            if file is csv_file
            else file.written(rows)
        )
        return Answer(
            content,
            media_type=file.MEDIA_TYPE,
            etag=value.sha256,
            headers={
                "Lapwise-Source": value.source,
                "Content-Disposition": f'attachment; filename="price-book.{suffix}"',
            },
        )

    def put(asked: Asked) -> Answer:
        value = get_value(asked.session, asked.caller.account_id, "price_book")
        try:
            book, habits = book_and_habits_from(
                table_of(asked, file, asked.body), value.record(), told_by(asked.query)
            )
        except BadTable as bad:
            raise _refused(bad) from None
        answer = store_value(asked, "price_book", value, book)
        return dataclasses.replace(answer, headers={**answer.headers, "Lapwise-Read-As": _said(habits)})

    get.__name__, put.__name__ = f"read_price_book_{suffix}", f"replace_price_book_{suffix}"
    get.__doc__ = f"Gives the products of the price book that holds for your next plan as {name}."
    put.__doc__ = (
        f"Replaces the products of your price book by those of {name}; currency, rules, tax rates and offcuts stay, suppliers you do "
        "not have yet are added. Either every row can be used, or nothing is stored and `errors` names every bad "
        "row: `/rows/7/pack_price`, counted as a spreadsheet counts, the heading being row 1.\n\n"
        f"{_HOW_READ}{_OF_CSV if file is csv_file else _OF_SPREADSHEET}"
    )
    price_sheets.operation(
        "GET",
        path,
        f"Read the price book as {name}",
        scope="read",
        gives={200: media},
        query=_STYLES if file is csv_file else {},
        etag=True,
    )(get)
    price_sheets.operation(
        "PUT",
        path,
        f"Replace the price book by {name}",
        scope="write",
        takes_bytes=media,
        query=_TELLS,
        gives={200: PriceBook},
        edits=True,
        etag=True,
    )(put)


_operations("csv", "CSV", csv_file)
_operations("xlsx", "a spreadsheet", xlsx_file)
