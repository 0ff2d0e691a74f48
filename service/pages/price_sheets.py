"""The price book as a table: kept as a file, sent back, looked through for what it would change, and only then applied."""

from __future__ import annotations

import base64
import binascii
import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from flask import Response, request

from api_schema.price_book import PriceBook, Product
from api_schema.problem import Fault
from service.api.own_values import store_value
from service.api.price_sheets import table_of, told_by
from service.api.problems import Refusal
from service.pages.operations import ask
from service.pages.own_values import SOURCES
from service.pages.serving import Pages, Visit, go
from service.records.own_values import get_value
from service.sheets import csv_file, xlsx_file
from service.sheets.columns import COLUMNS, rows_of
from service.sheets.habits import ByTheOthers, Habits, Told
from service.sheets.reading import BadTable, book_and_habits_from, book_from
from service.sheets.styles import style_of

_ZIP = b"PK\x03\x04"
_MOST_SHOWN = 200
_PLAINLY = Told(sign=".")


def add_price_sheets(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/price-book/table", table, scope="write", methods=("GET", "POST"))
    pages.add("/price-book/table.csv", table_csv)
    pages.add("/price-book/table.xlsx", table_xlsx)


def table_csv(visit: Visit) -> Response:
    """The products as CSV; as spreadsheets of the account's language write it where the address asks so."""
    return _file(visit, "csv", {"style": request.args.get("style", "plain")})


def table_xlsx(visit: Visit) -> Response:
    """The products as a spreadsheet."""
    return _file(visit, "xlsx")


def _file(visit: Visit, suffix: str, query: Mapping[str, str] | None = None) -> Response:
    answer = ask(visit, f"read_price_book_{suffix}", query=query)
    response = Response(answer.body, content_type=answer.media_type)
    response.headers["Content-Disposition"] = answer.headers["Content-Disposition"]
    return response


def table(visit: Visit) -> Response:
    """The page; a table that was sent is shown beside what holds now, and applied once that was looked at."""
    if request.method == "GET":
        return _shown(visit)
    value = get_value(visit.session, visit.account_id, "price_book")
    before: PriceBook = value.record()
    applying = request.form.get("do") == "apply"
    try:
        if applying:
            after = book_from(csv_file.read(_kept()), before, _PLAINLY)
            etag = request.form.get("etag", "")
            store_value(visit.asked(if_match=f'"{etag}"'), "price_book", value, after)
            return go("/price-book/table", "book")
        content = _sent()
        file = xlsx_file if content.startswith(_ZIP) else csv_file
        told = told_by(request.form)
        after, habits = book_and_habits_from(table_of(visit.asked(), file, content), before, told)
    except BadTable as bad:
        return _shown(visit, faults=bad.faults, habits=bad.habits, status=422)
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _shown(visit, faults=refusal.faults, status=422)
    kept = base64.b64encode(csv_file.written(rows_of(after))).decode()
    changes = list(changes_between(before, after))
    return _shown(visit, changes=changes, kept=kept, count=len(after.products), habits=habits)


def _sent() -> bytes:
    file = request.files.get("file")
    content = file.stream.read() if file else b""
    if not content:
        raise BadTable([Fault("", "is empty; choose the file that you kept.")])
    return content


def _kept() -> bytes:
    """The table that was looked at, as the page carried it."""
    try:
        return base64.b64decode(request.form.get("kept", ""), validate=True)
    except (binascii.Error, ValueError):
        raise Refusal("bad_request") from None


@dataclass(frozen=True, slots=True)
class Change:
    """What would become of one product."""

    kind: str
    """new, gone or changed"""
    code: str
    name: str
    parts: tuple[tuple[str, str, str], ...] = ()
    """Of a changed one: what, before, after; of a new one, its packs and their prices."""


def changes_between(before: PriceBook, after: PriceBook) -> Iterator[Change]:
    """Every product that is not as it was, in the order of the table, those that are gone last."""
    old = {product.code: product for product in before.products}
    for product in after.products:
        earlier = old.pop(product.code, None)
        if earlier is None:
            packs = tuple((f"pack of {pack.size:f}", "", f"{pack.price:f}") for pack in product.packs)
            yield Change("new", product.code, product.name, packs)
            continue
        parts = tuple(_parts(earlier, product))
        if parts:
            yield Change("changed", product.code, product.name, parts)
    for product in old.values():
        yield Change("gone", product.code, product.name)


def _parts(before: Product, after: Product) -> Iterator[tuple[str, str, str]]:
    for field in dataclasses.fields(Product):
        old, new = getattr(before, field.name), getattr(after, field.name)
        if field.name not in ("packs", "provenance") and old != new:
            yield _row(field.name.removesuffix("_mm").replace("_", " "), old, new)
    old_packs, new_packs = ({pack.size: pack for pack in product.packs} for product in (before, after))
    for size in dict.fromkeys([*old_packs, *new_packs]):
        was, now = old_packs.get(size), new_packs.get(size)
        if was == now:
            continue
        if was is None or now is None:
            yield f"pack of {size:f}", "none" if was is None else f"{was.price:f}", "none" if now is None else f"{now.price:f}"  # fmt: skip
            continue
        for field in dataclasses.fields(was):
            old, new = getattr(was, field.name), getattr(now, field.name)
            if old != new:
                yield _row(f"pack of {size:f}, {field.name.replace('_', ' ')}", old, new)


def _row(name: str, before: Any, after: Any) -> tuple[str, str, str]:
    return name, _said(before), _said(after)


def _said(value: Any) -> str:
    if value is None or value == ():
        return "none"
    if isinstance(value, tuple):
        return "; ".join(f"from {step.from_packs}: {step.price:f}" for step in value)
    return format(value, "f") if hasattr(value, "as_tuple") else str(value)


def _shown(
    visit: Visit,
    *,
    faults: tuple[Fault, ...] = (),
    changes: list[Change] | None = None,
    kept: str = "",
    count: int = 0,
    habits: Habits | None = None,
    status: int = 200,
) -> Response:
    value = get_value(visit.session, visit.account_id, "price_book")
    return visit.page(
        "price_sheet.html", status=status, title="As a table", part="/price-book", etag=value.sha256,
        source=SOURCES[value.source], columns=COLUMNS, bad=[_place(fault) for fault in faults],
        changes=None if changes is None else changes[:_MOST_SHOWN], more=max(0, len(changes or ()) - _MOST_SHOWN),
        kept=kept, count=count, habits=habits, others=_others(habits), own_style=style_of(visit.language),
        told=request.form,
    )  # fmt: skip


def _others(habits: Habits | None) -> list[ByTheOthers]:
    return [] if habits is None else list(habits.by_the_others[:_MOST_SHOWN])


def _place(fault: Fault) -> tuple[str, str, str]:
    """A fault as row, column and words; "" for what concerns the whole file."""
    steps = fault.pointer.strip("/").split("/")
    row = steps[1] if len(steps) > 1 and steps[0] == "rows" else ""
    column = steps[2].replace("_", " ") if len(steps) > 2 else ""
    return row, column, fault.detail
