"""The quote as the customer sees it: what is done, what goes in, group totals; no mark-ups, hours or rules."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from itertools import zip_longest

from api_schema.account import Profile
from api_schema.line_names import RESERVE, material_of, operation_of
from api_schema.price import PRICE_GROUPS, Price, TaxLine, is_rounded_by_line
from api_schema.quote import Quote
from api_schema.tax import STANDARD, WITHOUT_TAX
from workers.documents.formats import Formats
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.quote_alternatives import alternatives_of
from workers.documents.renderer import Attached, to_pdf
from workers.documents.texts import Texts
from workers.documents.ubl import quotation_xml


def render_quote(
    quote: Quote, profile: Profile, *, made_at: datetime.datetime, letterhead: Letterhead = PLAIN
) -> bytes:
    """The quote as PDF, A4; the same input gives the same bytes. Raises `DocumentError`.

    An issued quote carries itself as UBL Quotation. `made_at` is an aware time and the only one the file carries. Amounts are those of the quote: groups are sums
    of its rounded lines, so that they add up to its net.
    """
    texts, formats = Texts(profile.language), Formats(profile.language)
    currency = quote.price.currency
    state = "" if quote.state in ("issued", "accepted") else texts(f"quote.state.{quote.state}")
    materials = [
        (_material(line.name, texts, formats), _quantity(line.quantity, line.unit, texts, formats))
        for line in quote.price.lines
        if line.group == "materials"
    ]
    attached = []
    if quote.issued_on is not None:
        name = f"quotation-{quote.number}-{quote.revision}.xml"
        attached.append(Attached(name, quotation_xml(quote, profile), texts("ubl.quotation")))
    html = page(
        "quote.html",
        title=texts("quote.title", number=quote.number),
        reference=f"{quote.reference} · {quote.number}",
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        quote=quote,
        state=state,
        particulars=_particulars(quote, texts, formats),
        left_out=_left_out(quote, texts),
        headline=texts("quote.headline" if quote.price.tax else "quote.headline_no_tax"),
        acceptance=_acceptance(quote, texts, formats),
        work=_work(quote.price, texts),
        materials=list(in_tables(_two_columns(materials))),
        groups=[
            (_group_name(group, tax, quote.price, texts, formats), formats.money(amount, currency))
            for group, tax, amount in _groups(quote.price)
        ],
        net=formats.money(quote.price.net, currency),
        taxes=[
            (
                tax_words(tax, quote.price.tax, profile, currency, texts, formats),
                formats.money(tax.amount, currency),
            )
            for tax in quote.price.tax
        ],
        rounding=texts("quote.tax_by_line") if is_rounded_by_line(quote.price) else "",
        total=formats.money(quote.price.total, currency),
        terms=(quote.terms or profile.terms).splitlines(),
        introduction=quote.introduction.splitlines(),
        options=_options(quote, texts),
        alternatives=alternatives_of(quote, texts, formats),
    )
    return to_pdf(html, letterhead.assets, made_at, attached)


def _options(quote: Quote, texts: Texts) -> list[str]:
    """What the customer should know of the options: which insulation is reckoned with."""
    if quote.options.fixing == "as_surveyed":
        return []
    return [texts(f"quote.fixing.{quote.options.fixing}")]


def _left_out(quote: Quote, texts: Texts) -> list[str]:
    """What the price does not include."""
    by_others = [texts("quote.collars_by_others")] if quote.options.collars == "by_others" else []
    return by_others + texts.lines("quote.left_out.")


def _acceptance(quote: Quote, texts: Texts, formats: Formats) -> str:
    total = formats.money(quote.price.total, quote.price.currency)
    said = {"number": quote.number, "total": total}
    if quote.valid_until is None:
        return texts("quote.accept_choice" if quote.alternatives else "quote.accept_words", **said)
    key = "quote.accept_choice_until" if quote.alternatives else "quote.accept_until"
    return texts(key, **said, day=formats.date(quote.valid_until))


def _particulars(quote: Quote, texts: Texts, formats: Formats) -> list[tuple[str, str]]:
    rows = [(texts("quote.reference"), quote.reference)]
    if quote.issued_on:
        rows.append((texts("quote.issued_on"), formats.date(quote.issued_on)))
    if quote.valid_until:
        rows.append((texts("quote.valid_until"), formats.date(quote.valid_until)))
    return rows


def _groups(price: Price) -> list[tuple[str, TaxLine, Decimal]]:
    """Each group at each of its tax rates, with the sum of its lines."""
    found = []
    for group in PRICE_GROUPS:
        for tax in price.tax:
            amounts = [line.amount for line in price.lines if (line.group, line.tax) == (group, tax.code)]
            if amounts:
                found.append((group, tax, sum(amounts, Decimal(0))))
    return found


def _group_name(group: str, tax: TaxLine, price: Price, texts: Texts, formats: Formats) -> str:
    name = texts(f"group.{group}")
    if len(price.tax) < 2:
        return name
    return texts("quote.group_at", name=name, rate=formats.percent(tax.rate))


def tax_words(
    tax: TaxLine, among: Sequence[TaxLine], profile: Profile, currency: str, texts: Texts, formats: Formats
) -> str:
    """What is said of the tax at one rate; its name only where there are several, or it is nothing."""
    said = {
        "name": profile.tax_name,
        "rate": formats.percent(tax.rate),
        "base": formats.money(tax.base, currency),
    }
    if tax.category == "AE":
        return texts("quote.tax_reversed", called=tax.name, **said)
    if tax.name and (len(among) > 1 or tax.category in WITHOUT_TAX) and tax.code != STANDARD:
        return texts("quote.tax_called", called=tax.name, **said)
    return texts("quote.tax", **said)


_Row = tuple[str, str]


def _two_columns(rows: list[_Row]) -> list[tuple[_Row, _Row | None]]:
    """Rows read down the left column, then down the right one."""
    half = -(-len(rows) // 2)
    return list(zip_longest(rows[:half], rows[half:]))  # type: ignore[arg-type]


def _work(price: Price, texts: Texts) -> list[str]:
    """What is done, each once; hours kept in reserve are the firm's affair."""
    names = dict.fromkeys(
        line.name for line in price.lines if line.group == "labour" and line.name != RESERVE
    )
    operations = {name: operation_of(name) for name in names}
    return [name if one is None else texts(f"quote.work.{one}") for name, one in operations.items()]


def _material(name: str, texts: Texts, formats: Formats) -> str:
    """A line of materials; whether it comes from stock is the firm's affair."""
    said = material_of(name)
    if said.pack_size is None:
        return said.product
    size = formats.number(said.pack_size)
    if said.unit != "piece":
        size = f"{size}\N{NO-BREAK SPACE}{texts.unit(said.unit, said.pack_size)}"
    return texts("quote.pack_of", product=said.product, size=size)


def _quantity(quantity: Decimal, unit: str, texts: Texts, formats: Formats) -> str:
    return f"{formats.number(quantity)} {texts.unit(unit, quantity)}"
