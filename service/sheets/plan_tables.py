"""Tables of a plan for a spreadsheet: its cut list, take-off, labour and order lines, read from its stored JSON."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

Cell = str | int | Decimal
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_SAME_DAY = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC).replace(tzinfo=None)  # one plan gives one file


@dataclass(frozen=True, slots=True)
class Table:
    """Its columns, and its rows from a plan (JSON of `api_schema.plan.Plan`)."""

    columns: tuple[str, ...]
    rows: Callable[[Mapping[str, Any]], Iterator[tuple[Cell, ...]]]


def as_csv(table: Table, plan: Mapping[str, Any]) -> bytes:
    """RFC 4180 in UTF-8. Text that a spreadsheet would take for a formula gets an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(table.columns)
    for row in table.rows(plan):
        writer.writerow([_guarded(cell) if isinstance(cell, str) else format(cell, "f") if isinstance(cell, Decimal) else cell for cell in row])  # fmt: skip
    return out.getvalue().encode()


def as_xlsx(table: Table, plan: Mapping[str, Any], title: str) -> bytes:
    """OOXML (ISO/IEC 29500). Figures are numbers; text stays text, whatever it begins with."""
    from openpyxl import Workbook  # noqa: PLC0415 - few requests need it
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.styles import Font  # noqa: PLC0415

    book = Workbook(write_only=True)
    sheet = book.create_sheet(title)
    sheet.freeze_panes = "A2"

    def cell(value: Cell, *, bold: bool = False) -> Any:
        made = WriteOnlyCell(sheet, value=value)
        if isinstance(value, str):
            made.data_type = "s"
        if bold:
            made.font = Font(bold=True)
        return made

    sheet.append([cell(name, bold=True) for name in table.columns])
    for row in table.rows(plan):
        sheet.append([cell(value) for value in row])
    book.properties.creator = "Lapwise"
    book.properties.created = book.properties.modified = _SAME_DAY
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _guarded(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text


def _of(record: Mapping[str, Any], words: Sequence[str], figures: Sequence[str]) -> tuple[Cell, ...]:
    said = tuple("" if record.get(name) is None else str(record[name]) for name in words)
    return said + tuple(Decimal(str(record[name])) for name in figures)


def _cuts(plan: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    pieces = {
        piece["id"]: piece
        for surface in plan["layout"]["surfaces"]
        for strip in surface["strips"]
        for piece in strip["pieces"]
    }
    for roll in plan["cut_list"]["rolls"]:
        for number, cut in enumerate(roll["cuts"], start=1):
            for name in cut["pieces"]:
                surface, _, short = name.rpartition("/")
                piece = pieces[name]
                yield (
                    roll["roll"], roll["product"], number, cut["at_mm"], cut["length_mm"], surface, short,
                    piece["cut_length_mm"], piece["cut_width_mm"],
                )  # fmt: skip


def _quantities(plan: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    for one in plan["take_off"]["quantities"]:
        yield _of(one, ("item", "product", "unit"), ("quantity",))


def _areas(plan: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    for one in plan["take_off"]["surfaces"]:
        yield _of(one, _AREAS[:1], _AREAS[1:])


def _measured(plan: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    for one in plan["take_off"].get("measured", ()):  # plans of old times have none
        for part in one["from"]:
            yield (one["item"], part["surface"], one["unit"], *_of(part, (), _MEASURED))
        yield (one["item"], "", one["unit"], *_of(one, (), _MEASURED))


def _labour(plan: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    for one in plan["labour"]["operations"]:
        yield _of(one, _LABOUR[:3], _LABOUR[3:])


def _order_lines(plan: Mapping[str, Any]) -> Iterator[tuple[Cell, ...]]:
    for one in plan["order_lines"]:
        yield _of(one, _LINES[:5], _LINES[5:])


_AREAS = ("id", "gross_m2", "net_m2", "deducted_m2", "as_measured_m2", "as_laid_m2", "as_bought_m2")
_MEASURED = ("gross", "net", "deducted", "as_measured")
_LABOUR = ("operation", "position", "unit", "quantity", "minutes_per_unit", "hours", "low_h", "high_h")
_LINES = (
    "product", "name", "kind", "supplier", "unit", "needed", "waste", "from_stock", "packs", "pack_size", "pack_price",
    "price",
)  # fmt: skip
TABLES: Mapping[str, Table] = {
    "cut-list": Table(
        ("roll", "product", "cut", "at_mm", "cut_length_mm", "surface", "piece", "piece_length_mm", "piece_width_mm"),
        _cuts,
    ),
    "take-off": Table(("item", "product", "unit", "quantity"), _quantities),
    "areas": Table(("surface", *_AREAS[1:]), _areas),
    "measured": Table(("item", "surface", "unit", *_MEASURED), _measured),
    "labour": Table(_LABOUR, _labour),
    "order-lines": Table(_LINES, _order_lines),
}  # fmt: skip
