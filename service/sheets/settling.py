"""How the numbers and days of a table are read: settled once for the whole file, by those that have one reading only.

The rules, the same for every column:

1. Cells are parted by whichever of comma, semicolon and tab parts the heading into names of columns (`csv_file`). That
   says nothing about numbers: semicolons go with decimal points too, and commas with decimal commas in quotes.
2. Numbers that have one reading only (`writings`) settle the decimal sign of the file. Where some can only have a
   decimal point and others only a decimal comma, the fewer are refused, each by name.
3. A number with two readings, "1,234", is read with the file's decimal sign, and named in `Habits.by_the_others`. Where
   nothing settles that, or the others have something else between thousands, it is refused, with both readings. So are
   days such as 03/04/2026, where day and month could be either.
4. Whoever sends the file may say its decimal sign and the order of its days (`Told`); what contradicts is refused.
5. Cells of a spreadsheet that hold a number or a day, and not text, are in no doubt and settle nothing (`Exact`).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from api_schema.problem import Fault, printable
from service.sheets.columns import AMOUNTS, BREAKS, DAYS, LENGTHS
from service.sheets.habits import ORDER_WORDS, SIGN_WORDS, ByTheOthers, Habits, Told
from service.sheets.writings import (
    Exact,
    Meaning,
    Meanings,
    day_meanings,
    is_open,
    number_meanings,
    one_meaning,
    parts_of_breaks,
    parts_of_length,
)

_ONE = {"points": "a point", "commas": "a comma", "spaces": "a space", "apostrophes": "an apostrophe"}
_NAME = {".": "point", ",": "comma"}


@dataclass(slots=True)
class Settled:
    """The cells of a table in plain writing, and what is wrong with those that have none. Row 1 is the heading."""

    plain: dict[tuple[int, str], str] = field(default_factory=dict)
    """By row and column: decimal points, nothing between thousands, days as ISO 8601."""
    faults: defaultdict[int, list[Fault]] = field(default_factory=lambda: defaultdict(list))
    """By row."""
    habits: Habits = field(default_factory=Habits)


@dataclass(frozen=True, slots=True)
class _Cell:
    row: int
    column: str
    written: str
    """As faults repeat it."""
    parts: Sequence[str | Meanings]

    def meanings(self) -> Iterator[Meanings]:
        return (part for part in self.parts if not isinstance(part, str))


@dataclass(frozen=True, slots=True)
class _Way:
    """Which way of reading the file shows or was told, and the first cell that has no other."""

    way: str | None
    because: _Cell | None


def settle(heading: Sequence[str], rows: Iterable[Sequence[str]], told: Told) -> Settled:
    """Reads every number and day of the rows below a heading."""
    numbers, days = [], []
    for row, cells in enumerate(rows, start=2):
        for column, written in zip(heading, cells, strict=False):
            if written.strip() and column in DAYS:
                days.append(_Cell(row, column, _in_a_line(written), _parts_of_day(written)))
            elif written.strip() and (column in AMOUNTS or column in LENGTHS or column == BREAKS):
                numbers.append(_Cell(row, column, _in_a_line(written), parts_of(column, written)))
    settled = Settled()
    sign, order = _way(numbers, told.sign), _way(days, told.order)
    thousands, shapes, others = set(), {}, []
    sure = set(_sure_thousands(numbers, sign.way))
    for cell in (*numbers, *days):
        way = order if cell.column in DAYS else sign
        fault = _fault(cell, way, sure)
        if fault:
            settled.faults[cell.row].append(Fault(f"/rows/{cell.row}/{cell.column}", fault))
            continue
        read = _read(cell, way)
        for part in cell.meanings():
            shape = _chosen(part, way).shape
            if cell.column in DAYS:
                shapes[shape] = None
            elif shape:
                thousands.add(shape)
        if any(is_open(part) for part in cell.meanings()):
            others.append(ByTheOthers(cell.row, cell.column, cell.written, _in_a_line(read)))
        settled.plain[cell.row, cell.column] = _whole(read) if _is_millimetres(cell) else read
    settled.habits = Habits(
        sign=sign.way or "", thousands=tuple(sorted(thousands)), days=tuple(shape for shape in shapes if shape),
        by_the_others=tuple(sorted(others, key=lambda one: one.row)),
    )  # fmt: skip
    return settled


def parts_of(column: str, written: str) -> Sequence[str | Meanings]:
    """What is written in a column of numbers, as text and as what its numbers may mean."""
    if isinstance(written, Exact):
        exact = number_meanings(written).get(".")
        return [one_meaning(exact.plain) if exact else {}]
    if column == BREAKS:
        return parts_of_breaks(written.strip())
    found = number_meanings(written.strip())
    return [found] if found or column not in LENGTHS else parts_of_length(written.strip())


def _in_a_line(written: str) -> str:
    """As an answer or a header may repeat it."""
    return printable(" ".join(written.split()))


def _parts_of_day(written: str) -> Sequence[str | Meanings]:
    if isinstance(written, Exact):
        return [str(written)]
    found = day_meanings(written.strip())
    return [written.strip() if found is None else found]


def _way(cells: Iterable[_Cell], told: str | None) -> _Way:
    """The way most cells with one reading only have; of two as frequent, the one seen first."""
    if told is not None:
        return _Way(told, None)
    seen: Counter[str] = Counter()
    first: dict[str, _Cell] = {}
    for cell in cells:
        for found in cell.meanings():
            if len(found) == 1:
                (way,) = found
                seen[way] += 1
                first.setdefault(way, cell)
    if not seen:
        return _Way(None, None)
    way = seen.most_common(1)[0][0]
    return _Way(way, first[way])


def _sure_thousands(cells: Iterable[_Cell], way: str | None) -> Iterator[str]:
    for cell in cells:
        for found in cell.meanings():
            if not is_open(found):
                yield from (
                    meaning.shape for sign, meaning in found.items() if meaning.shape and way in (None, sign)
                )


def _chosen(found: Meanings, way: _Way) -> Meaning:
    return found[way.way] if way.way in found else next(iter(found.values()))


def _fault(cell: _Cell, way: _Way, sure: Collection[str]) -> str:
    """What is wrong with a cell, or ""."""
    for found in cell.meanings():
        fault = (
            _fault_of_day(cell, found, way)
            if cell.column in DAYS
            else _fault_of_number(cell, found, way, sure)
        )
        if fault:
            return fault
    if _is_millimetres(cell) and Decimal(read := _read(cell, way)) != Decimal(_whole(read)):
        return 'must be whole millimetres, or words such as "2.4 m".'
    return ""


def _fault_of_number(cell: _Cell, found: Meanings, way: _Way, sure: Collection[str]) -> str:
    if not found and cell.column == BREAKS:
        return "has more breaks than the 20 that a pack may have, or a number in them that cannot be read."
    if not found:
        return f"is no number we can read; write digits alone, like {'1234,50' if way.way == ',' else '1234.50'}, without unit or currency."
    if way.way is not None and way.way not in found:
        return _against(cell, found, way, SIGN_WORDS, "Write all numbers of the file one way.")
    if not is_open(found):
        return ""
    (grouped,) = (meaning for meaning in found.values() if meaning.shape)
    ((sign, other),) = ((sign, meaning) for sign, meaning in found.items() if not meaning.shape)
    if way.way is None:
        why = "nothing else in the file shows which"
        again = f"{other.written}0, or say which decimal sign the file has"
    elif found[way.way] is grouped and sure and grouped.shape not in sure:
        why = f"other numbers of the file have {' or '.join(sorted(sure))} between thousands"
        again = other.plain.replace(".", way.way)
    else:
        return ""
    return (
        f"{_named(cell, found)} can be read as {grouped.plain} ({_ONE[grouped.shape]} between thousands) or as {other.plain} (a decimal "
        f"{_NAME[sign]}); {why}. Write {grouped.plain} or {again}."
    )


def _fault_of_day(cell: _Cell, found: Meanings, way: _Way) -> str:
    if not found:
        return "is no day of the calendar; write it like 2026-12-31 or 31.12.2026."
    if way.way is not None and way.way not in found:
        return _against(cell, found, way, ORDER_WORDS, "Write all days like 2026-12-31 or 31.12.2026.")
    if way.way is None and is_open(found):
        read = [meaning.plain for meaning in found.values()]
        return (
            f'is "{cell.written}", which can be read as {read[0]} (the day first) or as {read[1]} (the month first); nothing else in the '
            "file shows which. Write it like 2026-12-31 or 31.12.2026, or say which comes first in the file."
        )
    return ""


def _named(cell: _Cell, found: Meanings) -> str:
    if len(cell.parts) == 1:
        return f'is "{cell.written}", which'
    return f'is "{cell.written:.60}", in which {next(iter(found.values())).written}'


def _against(cell: _Cell, found: Meanings, way: _Way, words: Mapping[str, str], what: str) -> str:
    (only,) = found
    said = f"{_named(cell, found)} can only be read with {words[only]}; "
    because = way.because
    if because is None:
        return f"{said}the file was said to have {words[str(way.way)]}."
    return f'{said}row {because.row}, {because.column}, "{because.written:.40}", only with {words[str(way.way)]}. {what}'


def _read(cell: _Cell, way: _Way) -> str:
    return "".join(part if isinstance(part, str) else _chosen(part, way).plain for part in cell.parts)


def _is_millimetres(cell: _Cell) -> bool:
    """Is it a length written as a number alone?"""
    return cell.column in LENGTHS and len(cell.parts) == 1 and not isinstance(cell.parts[0], str)


def _whole(number: str) -> str:
    return format(Decimal(number).to_integral_value(), "f")
