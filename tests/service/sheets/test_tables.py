"""A price book goes out as a table and comes in again unchanged; a bad table names every bad row and gives nothing."""

from __future__ import annotations

import dataclasses
import datetime
import io
import zipfile
from decimal import Decimal
from types import ModuleType

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.defaults import default_price_book
from api_schema.price_book import Pack, PriceBook, PriceBreak, Product, Supplier
from service.sheets import csv_file, xlsx_file
from service.sheets.columns import COLUMNS, rows_of
from service.sheets.reading import MOST_ROWS, BadTable, book_from

FILES = pytest.mark.parametrize("file", [csv_file, xlsx_file], ids=["csv", "xlsx"])
BOOK = default_price_book()


def there_and_back(file: ModuleType, book: PriceBook) -> PriceBook:
    return book_from(file.read(file.written(rows_of(book))), book)


@FILES
def test_the_default_price_book_comes_back_as_it_went(file: ModuleType) -> None:
    assert there_and_back(file, BOOK) == BOOK


_words = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=20)
_codes = st.from_regex(r"\A[a-z0-9][a-z0-9._-]{0,15}\Z")
_money = st.decimals(0, 10_000, places=2)
_packs = st.builds(
    Pack,
    size=st.decimals("0.001", 1000, places=3),
    price=_money,
    breaks=st.lists(
        st.builds(PriceBreak, from_packs=st.integers(2, 900), price=_money),
        max_size=3,
        unique_by=lambda step: step.from_packs,
    ).map(tuple),
    valid_from=st.none() | st.dates(datetime.date(2020, 1, 1), datetime.date(2025, 1, 1)),
    valid_until=st.none() | st.dates(datetime.date(2025, 1, 1), datetime.date(2030, 1, 1)),
)
_products = st.builds(
    Product,
    code=_codes,
    name=st.one_of(
        _words,
        _words.map(lambda word: f"={word}"),
        _words.map(lambda word: f"'-{word}"),
        st.just("'quoted', and; parted\""),
    ),
    kind=st.just("lap_tape"),
    supplier=st.sampled_from(("one", "two")),
    unit=st.just("m"),
    packs=st.lists(_packs, min_size=1, max_size=3).map(tuple),
    width_mm=st.none() | st.integers(1, 20_000),
    smallest_mm=st.none() | st.integers(1, 1000),
    largest_mm=st.none() | st.integers(1000, 2000),
    on_hand=st.decimals(0, 1000, places=1),
    provenance=st.sampled_from(("invented", "yours")),
)
_things = st.one_of(
    _products,
    _products.map(lambda product: dataclasses.replace(product, kind="membrane", width_mm=1500)),
    _products.map(lambda product: dataclasses.replace(product, kind="staples", unit="piece")),
    _products.map(
        lambda product: dataclasses.replace(
            product, kind="collar", unit="piece", smallest_mm=100, largest_mm=115
        )
    ),
)


@FILES
@settings(max_examples=40)
@given(products=st.lists(_things, min_size=1, max_size=6, unique_by=lambda product: product.code))
def test_any_price_book_comes_back_as_it_went(file: ModuleType, products: list[Product]) -> None:
    suppliers = (Supplier("one", "Example One"), Supplier("two", "Example Two"))
    book = PriceBook(products=tuple(products), suppliers=suppliers)
    assert there_and_back(file, book) == book


def table(*rows: dict[str, str], heading: tuple[str, ...] = COLUMNS) -> list[list[str]]:
    usual = {
        "code": "tape", "name": "Tape", "kind": "lap_tape", "supplier": "example-supplies", "unit": "m",
        "width_mm": "60", "pack_size": "30", "pack_price": "18.00",
    }  # fmt: skip
    return [list(heading), *([{**usual, **row}.get(name, "") for name in heading] for row in rows)]


def faults_of(rows: list[list[str]]) -> dict[str, str]:
    with pytest.raises(BadTable) as refused:
        book_from(rows, BOOK)
    return {fault.pointer: fault.detail for fault in refused.value.faults}


def test_every_bad_row_is_named_with_its_column() -> None:
    faults = faults_of(
        table(
            {"pack_price": "a lot"},
            {},
            {"code": "other", "kind": "paint", "pack_size": "-3"},
            {"code": "third", "width_mm": "wide", "price_breaks": "10 for 3"},
            {"code": "", "valid_until": "soon"},
            {"code": "last", "valid_until": "soon"},
        )
    )
    assert set(faults) == {
        "/rows/2/pack_price", "/rows/4/kind", "/rows/4/pack_size", "/rows/5/price_breaks", "/rows/6/code",
        "/rows/7/valid_until",
    }  # fmt: skip
    assert "10: 38.00; 50: 35.00" in faults["/rows/5/price_breaks"]


def test_rows_of_products_of_no_use_are_named_together_with_the_others() -> None:
    faults = faults_of(
        table(
            {"pack_price": "a lot"},
            {"code": "collar", "kind": "collar", "unit": "piece", "smallest_mm": "100"},
            {"code": "bigger", "kind": "collar", "unit": "piece", "smallest_mm": "100", "largest_mm": "50"},
            {"code": "roll", "kind": "membrane", "width_mm": ""},
            {"code": "late", "valid_from": "2027-01-01", "valid_until": "2026-12-31"},
            {"code": "twice", "price_breaks": "10: 3; 10: 2"},
            {"code": "pieces", "unit": "piece"},
            {"code": "tube", "kind": "sealant", "unit": "piece"},
        )
    )
    assert set(faults) == {
        "/rows/2/pack_price", "/rows/3", "/rows/4/smallest_mm", "/rows/5/width_mm", "/rows/6/valid_until",
        "/rows/7/price_breaks", "/rows/8/unit", "/rows/9/millilitres",
    }  # fmt: skip


def test_a_price_that_a_spreadsheet_reckoned_is_read_as_it_shows_it() -> None:
    sheet = openpyxl.Workbook()
    sheet.active.append(["code", 66 * 1.1, 0.1 + 0.2, 1e-7, 12345678.5, 30.0])
    out = io.BytesIO()
    sheet.save(out)
    assert list(xlsx_file.read(out.getvalue())) == [["code", "72.6", "0.3", "0.0000001", "12345678.5", "30"]]


def test_rows_of_one_product_must_agree() -> None:
    faults = faults_of(table({}, {"pack_size": "60", "name": "Other tape"}))
    assert list(faults) == ["/rows/3/name"]
    assert "Tape in row 2" in faults["/rows/3/name"]


def test_packs_of_one_product_stand_in_rows_of_their_own() -> None:
    book = book_from(table({}, {"pack_size": "60", "pack_price": "33.00", "price_breaks": "10: 30"}), BOOK)
    (product,) = book.products
    assert [(pack.size, pack.price) for pack in product.packs] == [
        (Decimal(30), Decimal("18.00")),
        (Decimal(60), Decimal("33.00")),
    ]
    assert product.packs[1].breaks == (PriceBreak(10, Decimal(30)),)


def test_an_unknown_supplier_is_added_and_the_rest_of_the_book_stays() -> None:
    book = book_from(table({"supplier": "example-two", "supplier_name": "Example Two"}), BOOK)
    assert Supplier("example-two", "Example Two") in book.suppliers
    assert book.suppliers[: len(BOOK.suppliers)] == BOOK.suppliers
    assert (book.rules, book.currency) == (BOOK.rules, BOOK.currency)


def test_headings_are_checked() -> None:
    faults = faults_of([["code", "name", "colour", "code"]])
    assert list(faults) == ["/rows/1"]
    with pytest.raises(BadTable) as refused:
        book_from([["code", "name", "colour", "code"]], BOOK)
    said = " ".join(fault.detail for fault in refused.value.faults)
    assert '"colour" is no column' in said
    assert '"code" stands twice' in said
    assert '"pack_price" is missing' in said


def test_too_many_rows_and_none_are_refused() -> None:
    assert "more than" in faults_of(table(*[{"code": f"c{n}"} for n in range(MOST_ROWS + 1)]))[""]
    assert "no product" in faults_of(table())[""]


@FILES
@pytest.mark.parametrize(
    "content", [b"", b"PK\x03\x04 not a zip", b"\xff\xfe\x00a", b"\x00" * 100, b'a,b\n"x']
)
def test_what_is_no_table_is_refused_in_words(file: ModuleType, content: bytes) -> None:
    with pytest.raises(BadTable):
        book_from(file.read(content), BOOK)


def test_semicolons_serve_as_well_as_commas() -> None:
    written = csv_file.written(rows_of(BOOK)).decode()
    assert "," in written
    rows = list(csv_file.read(written.encode()))
    again = "\n".join(";".join(f'"{cell}"' for cell in row) for row in rows)
    assert book_from(csv_file.read(again.encode()), BOOK) == BOOK


def test_a_formula_is_written_so_that_no_spreadsheet_computes_it() -> None:
    product = dataclasses.replace(BOOK.products[0], name="=1+1")
    book = dataclasses.replace(BOOK, products=(product,))
    assert b"'=1+1" in csv_file.written(rows_of(book))
    with zipfile.ZipFile(io.BytesIO(xlsx_file.written(rows_of(book)))) as packed:
        sheet = packed.read("xl/worksheets/sheet1.xml")
    assert b"<f>" not in sheet


def packed(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in parts.items():
            made.writestr(name.replace("__", "/") + ".xml", content)
    return out.getvalue()


@pytest.mark.parametrize(
    "content",
    [
        packed(xl__workbook=b"0" * (41 * 1024 * 1024)),
        packed(xl__workbook=b'<!DOCTYPE a [<!ENTITY b "bb">]><a>&b;</a>'),
        packed(**{f"part{n}": b"" for n in range(201)}),
        packed(anything=b"<a/>"),
    ],
    ids=["large", "entities", "many", "other"],
)
def test_hostile_spreadsheets_are_refused(content: bytes) -> None:
    with pytest.raises(BadTable):
        book_from(xlsx_file.read(content), BOOK)


def test_numbers_and_dates_of_a_spreadsheet_are_read_as_written() -> None:
    from openpyxl import Workbook  # noqa: PLC0415

    made = Workbook()
    sheet = made.active
    sheet.append([*COLUMNS])
    values = {
        "code": "tape", "name": "Tape", "kind": "lap_tape", "supplier": "example-supplies", "unit": "m", "width_mm": 60,
        "pack_size": 30.5, "pack_price": 18.1, "valid_until": datetime.date(2026, 12, 31),
    }  # fmt: skip
    sheet.append([values.get(name) for name in COLUMNS])
    out = io.BytesIO()
    made.save(out)
    (product,) = book_from(xlsx_file.read(out.getvalue()), BOOK).products
    (pack,) = product.packs
    assert (product.width_mm, pack.size, pack.price) == (60, Decimal("30.5"), Decimal("18.1"))
    assert pack.valid_until == datetime.date(2026, 12, 31)
