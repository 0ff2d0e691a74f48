"""What the customer's sheet and the UBL Quotation say of alternatives: every one, with exact figures."""

from __future__ import annotations

import dataclasses
import datetime
import io
import re
from decimal import Decimal

import pytest
from lxml import etree
from pypdf import PdfReader

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.quote import Quote
from api_schema.quote_alternatives import Alternative, Combination, offered
from api_schema.quote_options import QuoteOptions
from api_schema.shape import load
from service.api.examples import JOB
from tests.documents.test_ubl import NAMES, PROFILE, QUOTE, schema
from workers.documents import render_quote
from workers.documents.formats import Formats
from workers.documents.ubl import quotation_xml
from workers.engine.plan import plan_job
from workers.engine.quoting import price_choices, with_differences

MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
WISHED = (
    Alternative(
        name="Collars brought & fitted by your <trades>",
        code="own",
        collars="by_others",
        description="A list follows.",
    ),
    Alternative(name="Large scaffold by us", access_charge=Decimal("300.00")),
    Alternative(name="Small platforms by us", access_charge=Decimal("80.00")),
)


@pytest.fixture(scope="module")
def quote() -> Quote:
    standard, outputs, book = default_standard(), default_outputs(), default_price_book()
    job = load(Job, JOB)
    plan = plan_job(job, standard, outputs, book)
    alternatives = offered(WISHED)
    found = price_choices(job, plan, QuoteOptions(), alternatives, standard, outputs, book)
    return dataclasses.replace(
        QUOTE,
        price=found[0].offered.price,
        alternatives=with_differences(alternatives, found),
        combinations=tuple(Combination(one.chosen, one.offered.price) for one in found[1:]),
    )


def words_of(quote: Quote) -> str:
    pages = PdfReader(io.BytesIO(render_quote(quote, PROFILE, made_at=MADE_AT))).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_the_sheet_names_every_alternative_its_difference_its_total_and_what_goes_not_with_it(
    quote: Quote,
) -> None:
    words, money = words_of(quote), Formats(PROFILE.language).money
    for place, one in enumerate(quote.alternatives, start=1):
        assert f"{place}. {one.name}" in words
        assert one.total_difference is not None
        way = "less" if one.total_difference < 0 else "more"
        assert f"{money(abs(one.total_difference), 'EUR')} {way}" in words
    for combination in quote.combinations:
        assert money(combination.price.total, "EUR") in words
    assert "A list follows." in words
    assert "Not together with “Small platforms by us”." in words
    assert "1 and 2: " in words
    assert "with what is ticked under Alternatives, at the total stated for it" in words


def test_a_quote_without_alternatives_says_nothing_of_them() -> None:
    words = words_of(QUOTE)
    assert "Alternatives" not in words
    assert "We accept quote 2026-0001 as it stands" in words


def test_the_quotation_carries_alternatives_on_the_lines_they_change_and_stays_valid(quote: Quote) -> None:
    document = etree.fromstring(quotation_xml(quote, PROFILE))
    schema("Quotation").assertValid(document)
    lines = document.findall("a:QuotationLine", NAMES)
    base = [Decimal(line.findtext("a:LineItem/c:LineExtensionAmount", namespaces=NAMES)) for line in lines]
    assert sum(base) == quote.price.net
    prices = {one.chosen: one.price for one in quote.combinations}
    for alternative in quote.alternatives:
        net = Decimal(0)
        for line, amount in zip(lines, base, strict=True):
            instead = [
                Decimal(other.findtext("c:LineExtensionAmount", namespaces=NAMES))
                for other in line.findall("a:AlternativeLineItem", NAMES)
                if other.findtext("a:Item/a:SellersItemIdentification/c:ID", namespaces=NAMES)
                == alternative.code
            ]
            net += instead[0] if instead else amount
        assert net == prices[(str(alternative.code),)].net
    notes = [note.text for note in document.findall("c:Note", NAMES)]
    assert "Alternative own: Collars brought & fitted by your <trades>. A list follows." in notes
    assert "Alternative a: Large scaffold by us. Not together with b." in notes
    for combination in quote.combinations:
        said = next(note for note in notes if note.startswith(f"With {' and '.join(combination.chosen)}:"))
        assert f"{combination.price.total:f} EUR with tax" in said


def test_a_quotation_without_alternatives_is_as_before() -> None:
    document = etree.fromstring(quotation_xml(QUOTE, PROFILE))
    assert document.findall("a:QuotationLine/a:AlternativeLineItem", NAMES) == []
    assert len(document.findall("c:Note", NAMES)) == 1
