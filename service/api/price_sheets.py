"""The price book as a table: out for a spreadsheet, and in again whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from types import ModuleType

from api_schema.price_book import PriceBook
from service.api.operation import Answer, Asked, Media, Resource
from service.api.own_values import store_value
from service.api.problems import bad_input
from service.records.own_values import get_value
from service.sheets import csv_file, xlsx_file
from service.sheets.columns import COLUMNS, rows_of
from service.sheets.reading import BadTable, book_from

price_sheets = Resource(
    "price-book-tables",
    "Price book as a table",
    f"The products of the price book as CSV or spreadsheet, a row for each pack. Columns: {', '.join(COLUMNS)}.",
)


def _operations(suffix: str, name: str, file: ModuleType) -> None:
    path = f"/v1/price-book.{suffix}"
    media = Media(file.MEDIA_TYPE, f"The products of the price book as {name}, a row for each pack.")
    written: Callable[[Iterable[Sequence[str]]], bytes] = file.written
    read: Callable[[bytes], Iterator[list[str]]] = file.read

    def get(asked: Asked) -> Answer:
        value = get_value(asked.session, asked.caller.account_id, "price_book")
        book: PriceBook = value.record()
        return Answer(
            written(rows_of(book)),
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
            book = book_from(read(asked.body), value.record())
        except BadTable as bad:
            raise bad_input(bad.faults) from None
        return store_value(asked, "price_book", value, book)

    get.__name__, put.__name__ = f"read_price_book_{suffix}", f"replace_price_book_{suffix}"
    get.__doc__ = f"Gives the products of the price book that holds for your next plan as {name}."
    put.__doc__ = (
        f"Replaces the products of your price book by those of {name}; currency, rules, tax rates and offcuts stay, suppliers you do "
        "not have yet are added. Either every row can be used, or nothing is stored and `errors` names every bad "
        "row: `/rows/7/pack_price`, counted as a spreadsheet counts, the heading being row 1."
    )
    price_sheets.operation(
        "GET", path, f"Read the price book as {name}", scope="read", gives={200: media}, etag=True
    )(get)
    price_sheets.operation(
        "PUT",
        path,
        f"Replace the price book by {name}",
        scope="write",
        takes_bytes=media,
        gives={200: PriceBook},
        edits=True,
        etag=True,
    )(put)


_operations("csv", "CSV", csv_file)
_operations("xlsx", "a spreadsheet", xlsx_file)
