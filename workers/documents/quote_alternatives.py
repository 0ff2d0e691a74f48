"""The part of a quote that says what the customer may have instead, each with its exact price."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from api_schema.price import Price
from api_schema.quote import Quote
from workers.documents.formats import Formats
from workers.documents.texts import Texts


@dataclass(frozen=True, slots=True)
class Row:
    """An alternative as it is printed."""

    name: str
    notes: tuple[str, ...]
    difference: str
    total: str


@dataclass(frozen=True, slots=True)
class Alternatives:
    """The section: every alternative alone, then what several come to together."""

    intro: str
    rows: tuple[Row, ...]
    together: tuple[tuple[str, str], ...]
    together_intro: str


def alternatives_of(quote: Quote, texts: Texts, formats: Formats) -> Alternatives | None:
    """What is printed of a quote's alternatives; None where it has none.

    Differences and totals are those of the quote: nothing is added up here.
    """
    if not quote.alternatives:
        return None
    prices = {one.chosen: one.price for one in quote.combinations}
    names = {one.code: one.name for one in quote.alternatives}
    numbers = {one.code: str(place) for place, one in enumerate(quote.alternatives, start=1)}
    rows = []
    for one in quote.alternatives:
        notes = [one.description] if one.description else []
        if one.excludes:
            others = texts("quote.alternative.or").join(names[code] for code in one.excludes)
            notes.append(texts("quote.alternative.not_with", others=others))
        price = prices[(str(one.code),)]
        rows.append(
            Row(
                texts("quote.alternative.name", number=numbers[one.code], name=one.name),
                tuple(notes),
                difference_words(one.total_difference or Decimal(0), price, texts, formats),
                formats.money(price.total, price.currency),
            )
        )
    together = tuple(
        (
            texts("quote.alternative.and").join(numbers[code] for code in one.chosen),
            formats.money(one.price.total, one.price.currency),
        )
        for one in quote.combinations
        if len(one.chosen) > 1
    )
    return Alternatives(
        texts("quote.alternatives_intro"), tuple(rows), together, texts("quote.alternatives_together")
    )


def difference_words(difference: Decimal, price: Price, texts: Texts, formats: Formats) -> str:
    """So much more or less."""
    if not difference:
        return texts("quote.alternative.same")
    amount = formats.money(abs(difference), price.currency)
    return texts("quote.alternative.less" if difference < 0 else "quote.alternative.more", amount=amount)
