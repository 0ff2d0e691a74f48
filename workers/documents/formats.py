"""Numbers, money and dates as the account's language writes them."""

from __future__ import annotations

import datetime
from decimal import Decimal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal, format_percent


class Formats:
    """How one language writes figures; `language` is like en_GB."""

    def __init__(self, language: str) -> None:
        try:
            self._locale = Locale.parse(language)
        except (UnknownLocaleError, ValueError):  # a well-formed language that nobody has data for
            self._locale = Locale.parse("en_GB")

    def money(self, amount: Decimal, currency: str) -> str:
        """An amount with its currency, to the currency's minor unit."""
        return format_currency(amount, currency, locale=self._locale)

    def number(self, value: Decimal | int, places: int | None = None) -> str:
        """A number with the language's separators; rounded half-even to `places` where given."""
        if places is not None:
            value = Decimal(value).quantize(Decimal(1).scaleb(-places))
            return format_decimal(
                value, format="#,##0." + "0" * places if places else "#,##0", locale=self._locale
            )
        return format_decimal(value, locale=self._locale, decimal_quantization=False)

    def figure(self, value: Decimal) -> str:
        """A number within a sentence: with the places it has, and not grouped, like the millimetres of a drawing."""
        exponent = value.as_tuple().exponent
        places = max(0, -exponent) if isinstance(exponent, int) else 0
        form = "0." + "0" * places if places else "0"
        return format_decimal(value, format=form, locale=self._locale, group_separator=False)

    def metres(self, length_mm: int, places: int = 2) -> str:
        """Millimetres written as metres."""
        return self.number(Decimal(length_mm) / 1000, places)

    def percent(self, share: Decimal) -> str:
        """A share such as 0.2 as "20%"."""
        return format_percent(share, locale=self._locale, decimal_quantization=False)

    def date(self, day: datetime.date) -> str:
        """A date with the month in words."""
        return format_date(day, format="long", locale=self._locale)
