"""Lengths as people say them: 2400, "2400 mm", "240 cm", "2.4 m", "8 ft 2 in", "4\\"" — always whole mm inside."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal

_MM_PER_UNIT = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": Decimal("25.4"),  # the international inch of 1959, exactly 25.4 mm
    "ft": Decimal("304.8"),
}
_WORDS = {
    "'": "ft", "′": "ft", "foot": "ft", "feet": "ft", "ft": "ft",
    '"': "in", "″": "in", "inch": "in", "inches": "in", "in": "in",
    "mm": "mm", "cm": "cm", "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "millimetre": "mm", "millimetres": "mm", "centimetre": "cm", "centimetres": "cm",
}  # fmt: skip
_PART = re.compile(
    r"(?:(?P<whole>[0-9]{1,9}(?:[.,][0-9]{1,6})?)(?![0-9/.,]))?(?:[ -]?(?P<top>[0-9]{1,3})/(?P<bottom>[0-9]{1,3}))?"
    r"\s*(?P<unit>[a-z]+|['\"′″])?\s*"
)
HELP = 'Write millimetres as a number, or "2.4 m", "240 cm", "8 ft 2 in", "4 in".'


def length_in_words(text: str) -> int:
    """Whole millimetres of a length written in words, rounded half-even.

    Raises:
        ValueError: if `text` is not a length; the message says what may be written.
    """
    words = text.strip().lower()
    negative = words.startswith("-")
    words = words[1:].lstrip() if negative else words
    if not words or len(words) > 40:
        raise ValueError(HELP)
    total = Decimal(0)
    position = 0
    last_size: Decimal | None = None
    while position < len(words):
        match = _PART.match(words, position)
        if match is None or match.end() == position:
            raise ValueError(HELP)
        size = _part_size(match)
        unit = _unit(match, last_size, at_end=match.end() == len(words))
        if last_size is not None and unit >= last_size:  # "2 in 8 ft" is a slip, not a length
            raise ValueError(HELP)
        total += size * unit
        last_size = unit
        position = match.end()
    millimetres = int(total.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))
    return -millimetres if negative else millimetres


def _part_size(match: re.Match[str]) -> Decimal:
    whole, top, bottom = match["whole"], match["top"], match["bottom"]
    if whole is None and top is None:
        raise ValueError(HELP)
    size = Decimal((whole or "0").replace(",", "."))
    if top is not None:
        if int(bottom) == 0:
            raise ValueError(HELP)
        size += Decimal(top) / Decimal(bottom)
    return size


def _unit(match: re.Match[str], last_size: Decimal | None, *, at_end: bool) -> Decimal:
    word = match["unit"]
    if word is None:
        if at_end and last_size is None:
            return _MM_PER_UNIT["mm"]
        if at_end and last_size == _MM_PER_UNIT["ft"]:  # 8' 2 means 8 ft 2 in
            return _MM_PER_UNIT["in"]
        raise ValueError(HELP)
    if word not in _WORDS:
        raise ValueError(HELP)
    return _MM_PER_UNIT[_WORDS[word]]
