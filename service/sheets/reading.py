"""Rows of a table made a price book: all of it, or a fault for every row that cannot be used and nothing at all."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from marshmallow import ValidationError

from api_schema.price_book import Pack, PriceBook, Product, Supplier
from api_schema.problem import Fault, faults_in, printable
from api_schema.product_checks import faults_of_product
from api_schema.shape import dump, load
from api_schema.tax import rates_by_code
from service.sheets.bad_table import BadTable
from service.sheets.columns import COLUMNS, OF_PACK, REQUIRED, breaks_in
from service.sheets.habits import Habits, Told
from service.sheets.settling import settle
from service.sheets.table import MOST_ROWS, Table

MOST_FAULTS = 200
_RENAMED = {"pack_size": "size", "pack_price": "price", "price_breaks": "breaks"}
_BACK = {new: old for old, new in _RENAMED.items()}


def book_from(rows: Iterable[Sequence[str]], before: PriceBook, told: Told = Told()) -> PriceBook:  # noqa: B008 - frozen
    """The price book of `book_and_habits_from`."""
    return book_and_habits_from(rows, before, told)[0]


def book_and_habits_from(
    rows: Iterable[Sequence[str]], before: PriceBook, told: Told
) -> tuple[PriceBook, Habits]:
    """The price book with the table's products in place of those it had; currency, rules, tax rates and offcuts stay.

    A supplier the book does not know is added with its `supplier_name`; others keep their address. Products without
    a row are gone, and so are their offcuts. Pointers of faults are ``/rows/N/column``, N counted as a spreadsheet
    counts: the heading is row 1. How numbers and days are read, and when they are not, is said in `settling`.

    Raises:
        BadTable: with every fault found.
    """
    rates = tuple(rates_by_code(before.rules.tax_rate, before.tax_rates))
    lines = list(itertools.islice(rows, MOST_ROWS + 2))
    heading = [cell.strip().lower() for cell in lines[0]] if lines else []
    faults = list(_heading_faults(heading))
    if faults:
        raise BadTable(faults)
    if len(lines) > MOST_ROWS + 1:
        raise BadTable([Fault("", f"has more than {MOST_ROWS} rows. Split the price book.")])
    settled = settle(heading, lines[1:], told)
    habits = settled.habits
    if isinstance(rows, Table):
        habits = dataclasses.replace(habits, separator=rows.separator, letters=rows.letters)
    products: dict[str, dict[str, Any]] = {}
    first_rows: dict[str, int] = {}
    suppliers = {supplier.code: supplier for supplier in before.suppliers}
    for number, cells in enumerate(lines[1:], start=2):
        if len(faults) >= MOST_FAULTS:
            break
        if not any(cell.strip() for cell in cells):
            continue
        row = {
            name: settled.plain.get((number, name), cell.strip())
            for name, cell in zip(heading, cells, strict=False)
        }
        found = [*_row_faults(number, row, len(cells) > len(heading)), *settled.faults.get(number, ())]
        if not found:
            found = list(_take(number, row, products, first_rows, suppliers, rates))
        faults += found
    if faults:
        raise BadTable(faults[:MOST_FAULTS], habits)
    if not products:
        raise BadTable([Fault("", "holds no product; a price book needs some.")])
    used = {product["supplier"] for product in products.values()}
    known = {supplier.code for supplier in before.suppliers}
    book = dataclasses.replace(
        before,
        products=tuple(load(Product, product) for product in products.values()),
        suppliers=tuple(one for code, one in suppliers.items() if code in used or code in known),
        offcuts=tuple(offcut for offcut in before.offcuts if offcut.product in products),
    )
    return book, habits


def _heading_faults(heading: Sequence[str]) -> Iterator[Fault]:
    known = ", ".join(COLUMNS)
    for name in dict.fromkeys(heading):
        if name and name not in COLUMNS:
            yield Fault("/rows/1", f'"{printable(name):.40}" is no column; the columns are: {known}.')
        elif name and heading.count(name) > 1:
            yield Fault("/rows/1", f'"{name}" stands twice; keep one.')
    for name in REQUIRED:
        if name not in heading:
            yield Fault("/rows/1", f'the column "{name}" is missing.')


def _row_faults(number: int, row: dict[str, str], too_long: bool) -> Iterator[Fault]:
    if too_long:
        yield Fault(
            f"/rows/{number}",
            "has more cells than the heading has columns; a cell that holds what parts the cells needs quotes.",
        )
    for name in REQUIRED:
        if not row.get(name):
            yield Fault(f"/rows/{number}/{name}", "is missing.")


def _take(
    number: int,
    row: dict[str, str],
    products: dict[str, dict[str, Any]],
    first_rows: dict[str, int],
    suppliers: dict[str, Supplier],
    rates: Collection[str],
) -> Iterator[Fault]:
    """Adds a row to the products; yields what is wrong with it."""
    product = {
        name: _value(name, value)
        for name, value in row.items()
        if value and name in COLUMNS and name not in OF_PACK and name != "supplier_name"
    }
    pack: dict[str, Any] = {
        _RENAMED.get(name, name): value for name, value in row.items() if value and name in OF_PACK
    }
    try:
        pack["breaks"] = breaks_in(pack.get("breaks", ""))
    except ValueError as error:
        yield Fault(f"/rows/{number}/price_breaks", str(error))
        return
    code = row["code"]
    earlier = products.get(code)
    faults = [*_loads(number, Pack, pack), *_loads(number, Product, {**product, "packs": [_ANY_PACK]})]
    if not faults:
        faults += _of_no_use(number, {**product, "packs": [pack]})
    if not faults and earlier is not None:
        faults += _differences(number, first_rows[code], {**_whole(product), "packs": []}, earlier)
    if row.get("tax") and row["tax"] not in rates:
        faults.append(
            Fault(f"/rows/{number}/tax", f"is none of the tax rates of the price book: {', '.join(rates)}.")
        )
    if not faults:
        faults += _supplier(number, row, suppliers)
    yield from faults
    if faults:
        return
    if earlier is None:
        first_rows[code] = number
        products[code] = {**_whole(product), "packs": [pack]}
    else:
        earlier["packs"].append(pack)


_ANY_PACK = {"size": "1", "price": "1"}


def _value(name: str, written: str) -> Any:
    """Lengths as whole millimetres where they are digits; words such as "2.4 m" are read by the schema."""
    if name.endswith("_mm") and written.removesuffix(".0").isdecimal() and written.isascii():
        return int(written.removesuffix(".0"))
    return written


def _loads(number: int, record: type[Any], data: dict[str, Any]) -> list[Fault]:
    try:
        load(record, data)
    except ValidationError as error:
        found = []
        for fault in faults_in(error.messages):
            name = fault.pointer.split("/")[1] if "/" in fault.pointer else ""
            found.append(Fault(f"/rows/{number}/{_BACK.get(name, name)}".rstrip("/"), fault.detail))
        return found
    return []


def _of_no_use(number: int, product: dict[str, Any]) -> Iterator[Fault]:
    """What makes the product of no use, with the column it stands in."""
    for fault in faults_of_product(load(Product, product)):
        name = fault.pointer.removeprefix("/packs/0").partition("/")[2].partition("/")[0]
        yield Fault(f"/rows/{number}/{_BACK.get(name, name)}".rstrip("/"), fault.detail)


def _whole(product: dict[str, Any]) -> dict[str, Any]:
    """The product with every default written out, so that two rows can be compared."""
    return dump(load(Product, {**product, "packs": [_ANY_PACK]}))


def _differences(number: int, first: int, product: dict[str, Any], earlier: dict[str, Any]) -> list[Fault]:
    return [
        Fault(
            f"/rows/{number}/{name}",
            f"is {value!s:.60} here and {earlier[name]!s:.60} in row {first}; rows of one product must agree.",
        )
        for name, value in product.items()
        if name != "packs" and value != earlier[name]
    ]


def _supplier(number: int, row: dict[str, str], suppliers: dict[str, Supplier]) -> list[Fault]:
    code, name = row["supplier"], row.get("supplier_name", "")
    if code not in suppliers:
        faults = _loads(number, Supplier, {"code": code, "name": name or code})
        if not faults:
            suppliers[code] = Supplier(code=code, name=name or code)
        return [
            Fault(
                fault.pointer.replace("/code", "/supplier").replace("/name", "/supplier_name"), fault.detail
            )
            for fault in faults
        ]
    if name and suppliers[code].name != name:
        suppliers[code] = dataclasses.replace(suppliers[code], name=name)
    return []


__all__ = ["MOST_FAULTS", "MOST_ROWS", "BadTable", "book_and_habits_from", "book_from"]
