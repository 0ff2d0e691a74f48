"""Tables as spreadsheets of other habits write them are read for what they are, or refused with every reading named."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import io
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.defaults import default_price_book
from api_schema.price_book import Pack, PriceBook, PriceBreak, Product
from service.sheets import csv_file, xlsx_file
from service.sheets.columns import rows_of
from service.sheets.habits import Habits, Told
from service.sheets.reading import BadTable, book_and_habits_from
from service.sheets.settling import settle
from service.sheets.styles import style_of

BOOK = default_price_book()
SHOWN = Told()
HEADING = (
    "code", "name", "kind", "supplier", "unit", "width_mm", "pack_size", "pack_price", "price_breaks", "valid_from",
    "valid_until",
)  # fmt: skip


def lines(*rows: dict[str, str], separator: str = ";") -> str:
    """A table as a spreadsheet writes it: quotes only where they are needed."""
    usual = {
        "name": "Tape",
        "kind": "lap_tape",
        "supplier": "example",
        "unit": "m",
        "pack_size": "30",
        "pack_price": "18",
    }
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator)
    writer.writerow(HEADING)
    for number, row in enumerate(rows):
        writer.writerow([({"code": f"tape-{number}"} | usual | row).get(name, "") for name in HEADING])
    return out.getvalue()


def taken(
    content: bytes | str, told: Told = SHOWN, language: str = "de_DE"
) -> tuple[tuple[Product, ...], Habits]:
    sent = content.encode() if isinstance(content, str) else content
    book, habits = book_and_habits_from(csv_file.read(sent, language), BOOK, told)
    return book.products, habits


def refused(content: bytes | str, told: Told = SHOWN, language: str = "de_DE") -> dict[str, str]:
    with pytest.raises(BadTable) as bad:
        taken(content, told, language)
    return {fault.pointer: fault.detail for fault in bad.value.faults}


@pytest.mark.parametrize(
    ("price", "said"),
    [
        ("1.234,50", "decimal commas, points between thousands"),
        ("1234,50", "decimal commas"),
        ("1 234,50", "decimal commas, spaces between thousands"),
        ("1\u00a0234,50", "decimal commas, spaces between thousands"),
        ("1\u202f234,50", "decimal commas, spaces between thousands"),
        ("1'234.50", "decimal points, apostrophes between thousands"),
        ("1\u2019234.50", "decimal points, apostrophes between thousands"),
        ("1,234.50", "decimal points, commas between thousands"),
        ("1234.50", "decimal points"),
    ],
)
@pytest.mark.parametrize(("separator", "parted"), [(";", "semicolons"), (",", "commas"), ("\t", "tabs")])
def test_a_price_of_every_habit_is_read_and_the_reading_said(
    price: str, said: str, separator: str, parted: str
) -> None:
    (product,), habits = taken(lines({"pack_price": price}, separator=separator))
    assert product.packs[0].price == Decimal("1234.50")
    assert str(habits) == f"{parted} between cells, {said}"
    assert not habits.by_the_others


def test_sizes_breaks_lengths_and_days_are_read_by_the_same_habits() -> None:
    row = {
        "width_mm": "1,06 m", "pack_size": "0,5", "pack_price": "1.234,50", "price_breaks": "10: 1.100,00; 50: 999,5",
        "valid_from": "1.1.26", "valid_until": "31.12.2026",
    }  # fmt: skip
    (product,), habits = taken(lines(row))
    breaks = (PriceBreak(10, Decimal("1100.00")), PriceBreak(50, Decimal("999.5")))
    first, last = datetime.date(2026, 1, 1), datetime.date(2026, 12, 31)
    assert product.packs == (Pack(Decimal("0.5"), Decimal("1234.50"), breaks, first, last),)
    assert product.width_mm == 1060
    assert habits.days == ("day.month.year",)


def test_a_number_with_two_readings_is_read_as_the_others_and_named() -> None:
    first, second = (
        {"pack_price": "42,50"},
        {"pack_price": "1,234", "pack_size": "1.500", "width_mm": "1.060"},
    )
    (_, product), habits = taken(lines(first, second))
    assert (product.packs[0].price, product.packs[0].size, product.width_mm) == (Decimal("1.234"), 1500, 1060)
    assert {(one.row, one.column, one.written, one.read) for one in habits.by_the_others} == {
        (3, "pack_price", "1,234", "1.234"), (3, "pack_size", "1.500", "1500"), (3, "width_mm", "1.060", "1060"),
    }  # fmt: skip


def test_what_is_repeated_of_a_cell_stands_in_one_line_without_control_characters() -> None:
    rows = {"pack_price": "42,50", "width_mm": "1.060\nmm"}, {"price_breaks": "10: 38,00;\n50: 1.035"}
    _, habits = taken(lines(*rows))
    assert [(one.written, one.read) for one in habits.by_the_others] == [
        ("1.060 mm", "1060 mm"), ("10: 38,00; 50: 1.035", "10: 38.00; 50: 1035"),
    ]  # fmt: skip
    assert 'is "10\ufffd: 1.035"' in refused(lines({"price_breaks": "10\x02: 1.035"}))["/rows/2/price_breaks"]
    with pytest.raises(BadTable, match='"\ufffd" is no column'):
        taken("code;\x02\n")


@pytest.mark.parametrize("separator", [";", ",", "\t"])
@pytest.mark.parametrize("written", ["1,234", "1.234"])
def test_a_number_with_two_readings_and_nothing_to_show_which_is_refused_with_both(
    written: str, separator: str
) -> None:
    table = lines({"pack_size": "25"}, {"pack_price": written}, separator=separator)
    faults = refused(table)
    assert list(faults) == ["/rows/3/pack_price"]
    said = faults["/rows/3/pack_price"]
    for part in (f'"{written}"', "as 1234 (", "as 1.234 (", f"Write 1234 or {written}0"):
        assert part in said
    by_comma, by_point = (taken(table, Told(sign=sign))[0][1].packs[0].price for sign in (",", "."))
    assert {by_comma, by_point} == {Decimal("1234"), Decimal("1.234")}
    assert taken(table.replace(written, f"{written}0"))[0][1].packs[0].price == Decimal("1.234")


@pytest.mark.parametrize("written", ["0,125", "00,125", ",125", "0,1250", "1.000.000,125", "1,25E+02"])
def test_a_number_with_one_reading_shows_the_sign_for_one_with_two(written: str) -> None:
    (_, product), habits = taken(lines({"pack_size": written}, {"pack_price": "1,234"}))
    assert (product.packs[0].price, habits.sign) == (Decimal("1.234"), ",")


def test_a_file_that_mixes_decimal_points_and_commas_is_refused_and_the_fewer_are_named() -> None:
    rows = ({"pack_price": "42,50"}, {"pack_price": "42.50", "width_mm": "sixty"}, {"pack_price": "1.234,5"})
    faults = refused(lines(*rows))
    assert list(faults) == ["/rows/3/pack_price"]
    assert '"42.50"' in faults["/rows/3/pack_price"]
    assert 'row 2, pack_price, "42,50"' in faults["/rows/3/pack_price"]
    assert "said to have decimal points" in refused(lines(rows[0]), Told(sign="."))["/rows/2/pack_price"]


def test_what_stands_between_thousands_elsewhere_is_no_guess_for_another_sign() -> None:
    faults = refused(lines({"pack_price": "1 234,50"}, {"pack_size": "1.500"}))
    assert list(faults) == ["/rows/3/pack_size"]
    assert "spaces between thousands" in faults["/rows/3/pack_size"]
    assert "Write 1500 or 1,500." in faults["/rows/3/pack_size"]


@pytest.mark.parametrize("written", ["1,23,456.5", "12.34,5", "1.23.456", "42,50 EUR", "1 23", "4 2", "1''234", "1 234'567", "--5", "٣", "1_000"])  # fmt: skip
def test_what_is_written_in_no_habit_is_no_number(written: str) -> None:
    assert "is no number" in refused(lines({"pack_price": written}))["/rows/2/pack_price"]


def test_parts_of_a_millimetre_are_refused_and_not_rounded() -> None:
    faults = refused(lines({"pack_price": "42.50", "width_mm": "1.060"}, {"width_mm": "1500.0"}))
    assert list(faults) == ["/rows/2/width_mm"]
    assert "whole millimetres" in faults["/rows/2/width_mm"]


def test_days_with_strokes_are_read_once_one_of_them_leaves_no_doubt() -> None:
    doubtful, day_first, month_first = (
        {"valid_until": day} for day in ("03/04/2026", "31/12/2026", "12-31-2026")
    )
    faults = refused(lines(doubtful))
    assert "as 2026-04-03 (the day first) or as 2026-03-04 (the month first)" in faults["/rows/2/valid_until"]
    for table, told in ((lines(doubtful, day_first), Told()), (lines(doubtful), Told(order="day_first"))):
        products, habits = taken(table, told)
        assert products[0].packs[0].valid_until == datetime.date(2026, 4, 3)
        assert habits.days == ("day/month/year",)
        assert [one.read for one in habits.by_the_others] == ["2026-04-03"]
    assert taken(lines(doubtful, month_first))[0][0].packs[0].valid_until == datetime.date(2026, 3, 4)
    assert list(refused(lines(day_first, month_first))) == ["/rows/3/valid_until"]


@pytest.mark.parametrize(
    "day", ["31.02.2026", "12.31.2026", "03/04/26", "31/12/26", "31. Dezember 2026", "0/0/2026", "46022"]
)
def test_a_day_that_is_none_or_too_short_to_tell_is_refused(day: str) -> None:
    assert list(refused(lines({"valid_until": day}))) == ["/rows/2/valid_until"]


def test_a_byte_order_mark_a_first_line_sep_and_other_encodings_are_taken() -> None:
    table = lines({"name": "Dichtband für Stöße – 60", "pack_price": "42,50"})
    for content in (
        table.encode("utf-8-sig"), b"sep=;\r\n" + table.encode(), table.encode("utf-16"), table.encode("windows-1252"),
        b"\xef\xbb\xbfsep=;\r\n" + table.encode(), table.replace("\r\n", "\r").encode(),
    ):  # fmt: skip
        (product,), _ = taken(content)
        assert (product.name, product.packs[0].price) == ("Dichtband für Stöße – 60", Decimal("42.50"))
    assert "letters as Windows-1252" in str(taken(table.encode("windows-1252"))[1])
    assert "Take that line out" in refused("sep=,\n" + table)[""]


def test_bytes_that_may_be_other_letters_are_refused() -> None:
    table = lines({"name": "Taśma żółta für Stöße"})
    assert "Save it as CSV UTF-8" in refused(table.encode("windows-1250"))[""]
    western = lines({"name": "für Stöße"})
    for content, language in (
        (western.encode("windows-1252"), "pl_PL"),
        (western.encode("mac_roman"), "de_DE"),
    ):
        assert "Save it as CSV UTF-8" in refused(content, language=language)[""]
    assert "Save it as CSV UTF-8" in refused(b"\xef\xbb\xbf" + western.encode("windows-1252"))[""]


def test_text_cells_of_a_spreadsheet_are_read_alike_and_its_numbers_are_in_no_doubt() -> None:
    made = openpyxl.Workbook()
    made.active.append(list(HEADING))
    made.active.append(["a", "A", "lap_tape", "example", "m", 60, 1.234, "1.234,50", None, "1.1.2026", datetime.date(2026, 12, 31)])  # fmt: skip
    made.active.append(["b", "B", "lap_tape", "example", "m", "1.060", 30, "1.234", None, None, None])
    out = io.BytesIO()
    made.save(out)
    book, habits = book_and_habits_from(xlsx_file.read(out.getvalue()), BOOK, Told())
    assert [(one.packs[0].size, one.packs[0].price) for one in book.products] == [
        (Decimal("1.234"), Decimal("1234.50")), (Decimal(30), Decimal(1234)),
    ]  # fmt: skip
    assert (book.products[0].packs[0].valid_until, book.products[1].width_mm) == (
        datetime.date(2026, 12, 31),
        1060,
    )
    assert str(habits).startswith("cells of a spreadsheet, decimal commas")


_SPACES = (" ", "\u00a0", "\u202f")
_HABITS = st.fixed_dictionaries(
    {
        "separator": st.sampled_from(";,\t"),
        "signs": st.sampled_from(
            [(",", ""), (",", "."), *((",", space) for space in _SPACES), (".", ""), (".", ","), (".", "'"), (".", "\u2019")]
        ),
        "day": st.sampled_from(["{2}.{1}.{0}", "{0}-{1}-{2}", "{2}/{1}/{0}", "{1}/{2}/{0}", "{2}-{1}-{0}", "{0}.{1}.{2}."]),
        "encoding": st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
        "sep": st.booleans(),
    }
)  # fmt: skip
_ROWS = st.lists(
    st.tuples(
        st.decimals(0, 99_999_999, places=0) | st.decimals(0, 9_999, places=3) | st.decimals(-99_999, 99_999, places=2),
        st.integers(1, 20_000), st.dates(datetime.date(2000, 1, 1), datetime.date(2099, 12, 31)),
    ), min_size=1, max_size=4,
)  # fmt: skip


def tape_in(packs: tuple[Pack, ...]) -> PriceBook:
    """A price book with one tape."""
    tape = Product("tape", "Tape", "lap_tape", BOOK.suppliers[0].code, "m", packs)
    return dataclasses.replace(BOOK, products=(tape,), offcuts=())


def in_habits(number: Decimal, signs: tuple[str, str]) -> str:
    sign, between = signs
    return format(number, ",f").translate({ord(","): between, ord("."): sign})


@settings(max_examples=120, deadline=None)
@given(habits=_HABITS, rows=_ROWS)
def test_any_table_in_any_habit_reads_back_equal_or_is_refused(habits: dict, rows: list) -> None:  # type: ignore[type-arg]
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=habits["separator"])
    writer.writerow(["pack_price", "width_mm", "price_breaks", "valid_until"])
    for number, width, day in rows:
        price, wide = in_habits(number, habits["signs"]), in_habits(Decimal(width), habits["signs"])
        said = habits["day"].format(day.year, f"{day:%m}", f"{day:%d}")
        writer.writerow([price, wide, f"10: {price}", said])
    text = (f"sep={habits['separator']}\r\n" if habits["sep"] else "") + out.getvalue()
    heading, *cells = csv_file.read(text.encode(habits["encoding"]))
    settled = settle(heading, cells, Told())
    for place, (number, width, day) in enumerate(rows, start=2):
        wrong = {fault.pointer.rpartition("/")[2] for fault in settled.faults.get(place, ())}
        read = {name: settled.plain[place, name] for name in heading if name not in wrong}
        assert "pack_price" in wrong or Decimal(read["pack_price"]) == number
        assert "width_mm" in wrong or int(read["width_mm"]) == width
        assert "price_breaks" in wrong or Decimal(read["price_breaks"].removeprefix("10: ")) == number
        assert "valid_until" in wrong or read["valid_until"] == day.isoformat()
    wrong = {fault.pointer.rpartition("/")[2] for faults in settled.faults.values() for fault in faults}
    if any(number.as_tuple().exponent == -2 for number, _, _ in rows):  # shows the decimal sign
        assert wrong <= {"valid_until"}
    if "/" not in habits["day"] and habits["day"] != "{2}-{1}-{0}":
        assert "valid_until" not in wrong


@settings(max_examples=25, deadline=None)
@given(
    language=st.sampled_from(
        ["de_DE", "da_DK", "fr_FR", "de_CH", "sv_SE", "en_GB", "hu_HU", "ar_EG", "none"]
    ),
    prices=st.lists(
        st.decimals(0, 9_999, places=3) | st.decimals(0, 9_999, places=0), min_size=1, max_size=3
    ),
    last=st.none() | st.dates(datetime.date(2000, 1, 1), datetime.date(2099, 12, 31)),
)
def test_what_goes_out_in_the_habits_of_a_language_comes_back_equal(
    language: str, prices: list[Decimal], last: datetime.date | None
) -> None:
    packs = tuple(
        Pack(Decimal(30 + place), price, (PriceBreak(10, price),), None, last)
        for place, price in enumerate(prices)
    )
    book = tape_in(packs)
    for content in (csv_file.written(rows_of(book), style_of(language)), csv_file.written(rows_of(book))):
        assert book_and_habits_from(csv_file.read(content), book, Told())[0] == book


def test_a_lone_price_like_thousands_comes_back_from_a_spreadsheet_too() -> None:
    book = tape_in((Pack(Decimal(30), Decimal("1.234"), (PriceBreak(10, Decimal("1.100")),)),))
    assert book_and_habits_from(xlsx_file.read(xlsx_file.written(rows_of(book))), book, Told())[0] == book


def test_a_german_file_goes_out_with_semicolons_decimal_commas_and_a_mark() -> None:
    packs = (
        Pack(
            Decimal(30),
            Decimal("42.50"),
            (PriceBreak(10, Decimal("38.00")),),
            None,
            datetime.date(2026, 12, 31),
        ),
    )
    line = csv_file.written(rows_of(tape_in(packs)), style_of("de_DE")).decode().splitlines()[1]
    assert ";30;42,50;10: 38,00;;31.12.2026;" in line


_HEAD = lines().encode()


@pytest.mark.parametrize(
    "content",
    [
        b"\x00" * 5_000_000, _HEAD + b"a;\x00;b\n", b'"' * 5_000_000, _HEAD + b'"' * 5_000_000, b";" * 1_000_000,
        _HEAD + b";" * 1_000_000, _HEAD + b"\n" * 5_000_000, b"\xff\xfe" + b"a\xd8" * 100_000, b"sep=" + b"," * 1_000_000,
        _HEAD + b"a;A;lap_tape;b;m;;1;1;" + b'"' + b"1:1;" * 400 + b'";;\n',
        _HEAD + b"a;A;lap_tape;b;m;" + b"1 " * 900 + b";1;1;;;\n", _HEAD + b"1" * 1_000_000,
    ],
    ids=range(12),
)  # fmt: skip
def test_a_hostile_file_is_refused(content: bytes) -> None:
    assert refused(content)
