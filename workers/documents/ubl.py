"""Orders and quotes as OASIS UBL 2.1 documents, for the supplier's and the customer's own systems.

Source of names and order of elements: OASIS Standard "Universal Business Language Version 2.1" (4 November 2013),
schemas UBL-Order-2.1 and UBL-Quotation-2.1. Units of measure are UN/ECE Recommendation 20 codes. Customer-facing
quotations carry one line a group and tax rate, like the printed sheet: mark-ups and buying prices stay with the firm.
Where an alternative makes a line dearer or cheaper, the line carries an AlternativeLineItem with what it comes to then;
all of one alternative, with the lines it leaves alone, add up to its net. Totals of every choice stand in notes.
Tax categories are codes of UN/EDIFACT data element 5305 (UNCL5305), D.16B; each rate has a subtotal of its own.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from decimal import Decimal

from api_schema.account import Profile
from api_schema.order import Order
from api_schema.price import PRICE_GROUPS, Price, TaxLine
from api_schema.quote import Quote
from api_schema.tax import STANDARD, WITHOUT_TAX
from workers.documents.texts import Texts

_CAC = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
_CBC = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
_ORDER = "urn:oasis:names:specification:ubl:schema:xsd:Order-2"
_QUOTATION = "urn:oasis:names:specification:ubl:schema:xsd:Quotation-2"
_PACK = "PK"
_ONE = "C62"


def order_xml(order: Order, profile: Profile) -> bytes:
    """The UBL 2.1 Order of an order to one supplier; amounts in the order's currency, with the tax to expect by rate."""
    texts = Texts(profile.language)
    root = ET.Element(f"{{{_ORDER}}}Order")
    _basic(root, "UBLVersionID", "2.1")
    _basic(root, "ID", order.number)
    _basic(root, "IssueDate", order.made_on.isoformat())
    if order.notes:
        _basic(root, "Note", order.notes)
    _basic(root, "DocumentCurrencyCode", order.currency)
    _basic(root, "CustomerReference", order.reference)
    _basic(root, "LineCountNumeric", str(len(order.lines)))
    buyer = _aggregate(_aggregate(root, "BuyerCustomerParty"), "Party")
    _party(buyer, profile.name, profile.address, profile.email)
    seller = _aggregate(_aggregate(root, "SellerSupplierParty"), "Party")
    _party(seller, order.supplier.name, order.supplier.address, order.supplier.email)
    _delivery(root, order)
    _taxes(root, order.tax, order.currency, profile.tax_name)
    taxes = {tax.code: tax for tax in order.tax}
    total = _aggregate(root, "AnticipatedMonetaryTotal")
    _amount(total, "LineExtensionAmount", order.net, order.currency)
    if order.total is not None:
        _amount(total, "TaxExclusiveAmount", order.net, order.currency)
        _amount(total, "TaxInclusiveAmount", order.total, order.currency)
    _amount(total, "PayableAmount", order.net if order.total is None else order.total, order.currency)
    for number, line in enumerate(order.lines, start=1):
        item = _aggregate(_aggregate(root, "OrderLine"), "LineItem")
        _basic(item, "ID", str(number))
        _basic(item, "Quantity", str(line.packs), unitCode=_PACK)
        _amount(item, "LineExtensionAmount", line.price, order.currency)
        _pack_price(item, line.pack_price, order.currency)
        bought = _aggregate(item, "Item")
        _basic(
            bought,
            "Description",
            texts(
                "ubl.pack_of",
                size=f"{line.pack_size.normalize():f}",
                unit=texts.unit(line.unit, line.pack_size),
            ),
        )
        _basic(bought, "PackQuantity", "1", unitCode=_PACK)
        _basic(bought, "PackSizeNumeric", f"{line.pack_size.normalize():f}")
        _basic(bought, "Name", line.name)
        _basic(_aggregate(bought, "SellersItemIdentification"), "ID", line.product)
        _line_tax(bought, taxes.get(line.tax or STANDARD), profile.tax_name)
    return _bytes(root)


def quotation_xml(quote: Quote, profile: Profile) -> bytes:
    """The UBL 2.1 Quotation of an issued quote.

    Raises:
        ValueError: if the quote has no day of issue; a draft is not an offer.
    """
    if quote.issued_on is None:
        raise ValueError(f"quote {quote.number} is not issued yet; issue it first.")
    texts, price = Texts(profile.language), quote.price
    alone = {one.chosen[0]: one.price for one in quote.combinations if len(one.chosen) == 1}
    root = ET.Element(f"{{{_QUOTATION}}}Quotation")
    _basic(root, "UBLVersionID", "2.1")
    _basic(root, "ID", f"{quote.number}-{quote.revision}")
    _basic(root, "IssueDate", quote.issued_on.isoformat())
    _basic(root, "Note", f"{quote.reference} {quote.title}".strip())
    for words in _alternatives_in_words(quote, texts):
        _basic(root, "Note", words)
    _basic(root, "PricingCurrencyCode", price.currency)
    sums = _sums(price)
    alternatives = [(one, _sums(alone[str(one.code)])) for one in quote.alternatives]
    lines = _lines([sums, *(theirs for _, theirs in alternatives)])
    _basic(root, "LineCountNumeric", str(max(len(lines), 1)))
    if quote.valid_until is not None:
        _basic(_aggregate(root, "ValidityPeriod"), "EndDate", quote.valid_until.isoformat())
    seller = _aggregate(_aggregate(root, "SellerSupplierParty"), "Party")
    _party(seller, profile.name, profile.address, profile.email)
    if quote.customer.name:
        buyer = _aggregate(_aggregate(root, "BuyerCustomerParty"), "Party")
        _party(buyer, quote.customer.name, quote.customer.address, quote.customer.email)
    _taxes(root, price.tax, price.currency, profile.tax_name)
    total = _aggregate(root, "QuotedMonetaryTotal")
    _amount(total, "LineExtensionAmount", price.net, price.currency)
    _amount(total, "TaxExclusiveAmount", price.net, price.currency)
    _amount(total, "TaxInclusiveAmount", price.total, price.currency)
    _amount(total, "PayableAmount", price.total, price.currency)
    taxes = {tax.code: tax for one in (*alone.values(), price) for tax in one.tax}
    for number, line in enumerate(lines, start=1):
        place = _aggregate(root, "QuotationLine")
        amount = sums.get(line, Decimal(0))
        item = _offered(place, "LineItem", str(number), line, amount, price.currency, texts)
        _line_tax(item, taxes.get(line[1]), profile.tax_name)
        for alternative, theirs in alternatives:
            instead = theirs.get(line, Decimal(0))
            if instead == amount:
                continue
            name = f"{number}-{alternative.code}"
            other = _offered(
                place, "AlternativeLineItem", name, line, instead, price.currency, texts, alternative.name
            )
            _basic(_aggregate(other, "SellersItemIdentification"), "ID", str(alternative.code))
            _line_tax(other, taxes.get(line[1]), profile.tax_name)
    if not lines:  # work that costs nothing; a Quotation has a line all the same
        item = _aggregate(_aggregate(root, "QuotationLine"), "LineItem")
        _basic(item, "ID", "1")
        _basic(item, "Quantity", "1", unitCode=_ONE)
        _amount(item, "LineExtensionAmount", price.net, price.currency)
        _basic(_aggregate(item, "Item"), "Name", quote.title or quote.reference)
    return _bytes(root)


_Line = tuple[str, str]
"""Group and code of the tax rate."""


def _offered(
    place: ET.Element,
    kind: str,
    name: str,
    line: _Line,
    amount: Decimal,
    currency: str,
    texts: Texts,
    words: str = "",
) -> ET.Element:
    """A line item, or one to be had instead; gives what is sold in it."""
    item = _aggregate(place, kind)
    _basic(item, "ID", name)
    _basic(item, "Quantity", "1", unitCode=_ONE)
    _amount(item, "LineExtensionAmount", amount, currency)
    sold = _aggregate(item, "Item")
    if words:
        _basic(sold, "Description", words)
    _basic(sold, "Name", texts(f"group.{line[0]}"))
    return sold


def _sums(price: Price) -> dict[_Line, Decimal]:
    """The amount of each group at each tax rate, as on the printed sheet."""
    sums: dict[_Line, Decimal] = {}
    for line in price.lines:
        sums[line.group, line.tax] = sums.get((line.group, line.tax), Decimal(0)) + line.amount
    codes = [tax.code for tax in price.tax]
    return {
        (group, code): sums[group, code] for group in PRICE_GROUPS for code in codes if (group, code) in sums
    }


def _lines(prices: Sequence[dict[_Line, Decimal]]) -> list[_Line]:
    """Every line there is in one of the prices, groups in their order."""
    found = dict.fromkeys(line for price in prices for line in price)
    return sorted(found, key=lambda line: PRICE_GROUPS.index(line[0]))  # type: ignore[arg-type]


def _alternatives_in_words(quote: Quote, texts: Texts) -> Iterator[str]:
    """What no line can say: what an alternative is, what it excludes, and what several come to together."""
    for one in quote.alternatives:
        words = texts("ubl.alternative", code=one.code, name=one.name)
        if one.description:
            words += f" {one.description}"
        if one.excludes:
            others = texts("ubl.or").join(one.excludes)
            words += " " + texts("ubl.not_together", others=others)
        yield words
    for combination in quote.combinations:
        price = combination.price
        yield texts(
            "ubl.with",
            chosen=texts("ubl.and").join(combination.chosen),
            net=f"{price.net:f} {price.currency}",
            total=f"{price.total:f} {price.currency}",
        )


def _delivery(root: ET.Element, order: Order) -> None:
    if not order.deliver_to and order.deliver_on is None:
        return
    delivery = _aggregate(root, "Delivery")
    if order.deliver_to:
        _address(_aggregate(delivery, "DeliveryAddress"), order.deliver_to)
    if order.deliver_on is not None:
        period = _aggregate(delivery, "RequestedDeliveryPeriod")
        _basic(period, "StartDate", order.deliver_on.isoformat())
        _basic(period, "EndDate", order.deliver_on.isoformat())


def _taxes(root: ET.Element, taxes: Sequence[TaxLine], currency: str, tax_name: str) -> None:
    if not taxes:
        return
    whole = _aggregate(root, "TaxTotal")
    _amount(whole, "TaxAmount", sum((tax.amount for tax in taxes), Decimal(0)), currency)
    for tax in taxes:
        part = _aggregate(whole, "TaxSubtotal")
        _amount(part, "TaxableAmount", tax.base, currency)
        _amount(part, "TaxAmount", tax.amount, currency)
        _category(_aggregate(part, "TaxCategory"), tax, tax_name)


def _line_tax(item: ET.Element, tax: TaxLine | None, tax_name: str) -> None:
    if tax is not None:
        _category(_aggregate(item, "ClassifiedTaxCategory"), tax, tax_name)


def _category(category: ET.Element, tax: TaxLine, tax_name: str) -> None:
    code = tax.category or ("S" if tax.rate else "Z")
    _basic(category, "ID", code, schemeID="UNCL5305")
    if tax.name:
        _basic(category, "Name", tax.name)
    _basic(category, "Percent", f"{(tax.rate * 100).normalize():f}")
    if code in WITHOUT_TAX and code != "Z" and tax.name:
        _basic(category, "TaxExemptionReason", tax.name)
    _basic(_aggregate(category, "TaxScheme"), "Name", tax_name)


def _party(party: ET.Element, name: str, address: tuple[str, ...], email: str) -> None:
    _basic(_aggregate(party, "PartyName"), "Name", name)
    if address:
        _address(_aggregate(party, "PostalAddress"), address)
    if email:
        _basic(_aggregate(party, "Contact"), "ElectronicMail", email)


def _address(place: ET.Element, lines: tuple[str, ...]) -> None:
    for line in lines:
        _basic(_aggregate(place, "AddressLine"), "Line", line)


def _pack_price(item: ET.Element, amount: Decimal, currency: str) -> None:
    price = _aggregate(item, "Price")
    _amount(price, "PriceAmount", amount, currency)
    _basic(price, "BaseQuantity", "1", unitCode=_PACK)


def _amount(parent: ET.Element, name: str, amount: Decimal, currency: str) -> None:
    _basic(parent, name, format(amount, "f"), currencyID=currency)


def _basic(parent: ET.Element, name: str, text: str, **attributes: str) -> None:
    ET.SubElement(parent, f"{{{_CBC}}}{name}", attributes).text = text


def _aggregate(parent: ET.Element, name: str) -> ET.Element:
    return ET.SubElement(parent, f"{{{_CAC}}}{name}")


def _bytes(root: ET.Element) -> bytes:
    ET.register_namespace("cac", _CAC)
    ET.register_namespace("cbc", _CBC)
    ET.indent(root)
    written: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return written + b"\n"
