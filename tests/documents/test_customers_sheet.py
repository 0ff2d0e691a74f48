"""What the customer reads of a quote, and what stays with the firm."""

import dataclasses
import io
import re
from decimal import Decimal

import pytest
from pypdf import PdfReader

from api_schema.line_names import RESERVE, packs_named, stock_named
from api_schema.price import PriceLine
from tests.documents import example_plan as example
from workers.documents import render_quote
from workers.documents.formats import Formats


def _line(group: str, name: str, unit: str) -> PriceLine:
    return PriceLine(group, name, Decimal(2), unit, Decimal(10), Decimal("20.00"), Decimal("0.2"), "secret")  # type: ignore[arg-type]


def test_stock_and_hours_in_reserve_are_the_firms_affair_and_sizes_are_written_as_the_language_does() -> None:
    lines = (
        *example.PRICE.lines,
        _line("labour", RESERVE, "h"),
        _line("materials", stock_named("Frame tape 75 mm"), "m"),
        _line("materials", packs_named("Batten", Decimal("4.8"), "m"), "pack"),
        _line("materials", packs_named("Collar", Decimal(10), "piece"), "pack"),
    )
    quote = dataclasses.replace(example.QUOTE, price=dataclasses.replace(example.PRICE, lines=lines))
    profile = dataclasses.replace(example.PROFILE, language="de_DE")
    written = render_quote(quote, profile, made_at=example.MADE_AT)
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(written)).pages).split())
    for shown in (
        "hang membrane; tape laps.",
        "Frame tape 75 mm",
        "Batten, pack of 4,8 m",
        "Collar, pack of 10",
    ):
        assert shown in words, words
    for kept in ("reserve", "stock", "secret"):
        assert kept not in words, words


@pytest.mark.parametrize(
    ("currency", "language", "total"),
    [("KWD", "fr_FR", "4446.252"), ("KWD", "fr_FR", "12345678.252"), ("CHF", "de_CH", "1234446.23"), ("EUR", "de_DE", "98765432.10")],
)  # fmt: skip
def test_however_long_the_total_is_it_stands_in_one_line(currency: str, language: str, total: str) -> None:
    price = dataclasses.replace(example.PRICE, currency=currency, total=Decimal(total))
    profile = dataclasses.replace(example.PROFILE, language=language)
    written = render_quote(dataclasses.replace(example.QUOTE, price=price), profile, made_at=example.MADE_AT)
    lines = PdfReader(io.BytesIO(written)).pages[0].extract_text().splitlines()
    said = re.sub(r"\s", "", Formats(language).money(Decimal(total), currency))
    assert any(said in re.sub(r"\s", "", line) for line in lines[:12]), lines[:12]
