"""Tables of a plan hold what the plan says, and nothing in them is taken for a formula."""

import csv
import io
from collections.abc import Callable
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from service.sheets.plan_tables import TABLES, as_csv, as_xlsx
from tests.service.api.office import Office


@pytest.fixture
def job(office: Office, plan_now: Callable[[Office, str], None]) -> str:
    made = office.job()
    plan_now(office, made)
    return made


def rows_of(office: Office, job: str, table: str) -> list[dict[str, str]]:
    answer = office.get(f"/v1/jobs/{job}/tables/{table}.csv")
    assert answer.status_code == 200, answer.text
    return list(csv.DictReader(io.StringIO(answer.text)))


def test_tables_hold_what_the_plan_says(office: Office, job: str) -> None:
    plan = office.get(f"/v1/jobs/{job}/plan").json
    cut = rows_of(office, job, "cut-list")
    laid = {
        piece["id"]: str(piece["cut_length_mm"])
        for surface in plan["layout"]["surfaces"]
        for strip in surface["strips"]
        for piece in strip["pieces"]
    }
    assert {f"{row['surface']}/{row['piece']}": row["piece_length_mm"] for row in cut} == laid
    assert len(cut) == len(laid)
    for table, key, listed in (
        ("take-off", "quantity", plan["take_off"]["quantities"]),
        ("areas", "net_m2", plan["take_off"]["surfaces"]),
        ("labour", "hours", plan["labour"]["operations"]),
        ("order-lines", "price", plan["order_lines"]),
    ):
        assert [Decimal(row[key]) for row in rows_of(office, job, table)] == [
            Decimal(str(one[key])) for one in listed
        ]


@pytest.mark.parametrize("table", sorted(TABLES))
def test_the_spreadsheet_says_what_the_csv_says(office: Office, job: str, table: str) -> None:
    answer = office.get(f"/v1/jobs/{job}/tables/{table}.xlsx")
    assert answer.status_code == 200
    sheet = load_workbook(io.BytesIO(answer.data)).active
    assert sheet is not None
    heading, *rows = list(sheet.iter_rows(values_only=True))
    plain = rows_of(office, job, table)
    assert list(heading) == list(TABLES[table].columns)
    assert len(rows) == len(plain)
    for row, said in zip(rows, plain, strict=True):
        for value, words in zip(row, said.values(), strict=True):
            if isinstance(value, int | float):
                assert Decimal(str(value)) == Decimal(words)
            else:
                assert (value or "") == words


def test_text_that_looks_like_a_formula_stays_text() -> None:
    line = dict.fromkeys(TABLES["order-lines"].columns, "1") | {
        "name": "=1+1",
        "supplier": "@x",
        "kind": "+2",
    }
    plan = {"order_lines": [line]}
    (row,) = csv.DictReader(io.StringIO(as_csv(TABLES["order-lines"], plan).decode()))
    assert (row["name"], row["supplier"], row["kind"]) == ("'=1+1", "'@x", "'+2")
    sheet = load_workbook(io.BytesIO(as_xlsx(TABLES["order-lines"], plan, "lines"))).active
    assert sheet is not None
    assert [cell.data_type for cell in sheet[2][:5]] == ["s"] * 5
    assert sheet["B2"].value == "=1+1"


def test_a_table_there_is_not_is_not_found_and_one_not_planned_yet_is_refused(
    office: Office, job: str
) -> None:
    assert office.get(f"/v1/jobs/{job}/tables/secrets.csv").status_code == 404
    assert office.get(f"/v1/jobs/{office.job()}/tables/cut-list.csv").status_code == 409
