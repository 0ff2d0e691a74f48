"""Which currencies and languages there are, so that a slip of the finger does not end up on a quote."""

from __future__ import annotations

from collections.abc import Iterator

from babel import Locale, UnknownLocaleError
from babel.core import get_global

from api_schema.problem import Fault


def currency_faults(code: str) -> Iterator[Fault]:
    """A fault where the Unicode CLDR data know no such ISO 4217 code; those of the past are known too."""
    if code not in get_global("all_currencies"):
        yield Fault("/currency", f'"{code}" is no currency of ISO 4217; write one such as EUR or CHF.')


def language_faults(language: str) -> Iterator[Fault]:
    """A fault where the Unicode CLDR data do not know how that language writes numbers and dates."""
    try:
        Locale.parse(language)
    except (UnknownLocaleError, ValueError):
        yield Fault(
            "/language",
            f'nothing is known of how numbers and dates are written in "{language}"; write one such as de_DE.',
        )
