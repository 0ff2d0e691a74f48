"""What a number or a day may mean as it is written: one thing, two things, or none.

A number has a decimal point or a decimal comma, and in groups of three digits between thousands the other of the two,
a space (also a no-break, thin or narrow one) or an apostrophe. So "42,50", "1.234,50" and "0,125" can only have a
decimal comma, "42.50" only a decimal point, "1 234" is 1234 either way, and "1,234" may be two numbers. A day is
written year first (2026-12-31, 2026/12/31, 2026.12.31), or with points day first (31.12.2026, 31.12.26 for this
century); with strokes or dashes day or month may come first, so that "03/04/2026" may be two days.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Sign = Literal[".", ","]
Order = Literal["day_first", "month_first"]
_SPACES = " \u00a0\u2007\u2009\u202f"
_APOSTROPHES = "'\u2019"
_BETWEEN = {
    ".": "points", ",": "commas", **dict.fromkeys(_SPACES, "spaces"), **dict.fromkeys(_APOSTROPHES, "apostrophes"),
}  # fmt: skip
_LONGEST = 40
_MOST_BREAKS = 25  # a pack has 20 at most
_NUMBER = {
    sign: re.compile(
        rf"(?P<minus>[-\u2212])?(?:(?P<grouped>[1-9][0-9]{{0,2}}(?P<by>[{other}{_SPACES}{_APOSTROPHES}])[0-9]{{3}}"
        rf"(?:(?P=by)[0-9]{{3}})*)|(?P<plain>[0-9]*))(?:[{sign}](?P<part>[0-9]*))?(?P<power>[eE][-+]?[0-9]{{1,2}})?"
    )
    for sign, other in ((".", ","), (",", "."))
}
_IN_WORDS = re.compile(
    rf"[0-9]{{1,3}}(?:(?P<by>[{_SPACES}{_APOSTROPHES}])[0-9]{{3}}(?![0-9/]))(?:(?P=by)[0-9]{{3}}(?![0-9/]))*(?:[.,][0-9]+)?"
    r"|[0-9]+(?:[.,][0-9]+)*"
)
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])\s?([0-9]{1,2})\2\s?([0-9]{1,2})\.?")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])\s?([0-9]{1,2})\2\s?([0-9]{4}|[0-9]{2})\.?")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What something written means, read one way."""

    plain: str
    """The number with a decimal point and nothing between thousands, or the day as ISO 8601."""
    shape: str = ""
    """Of a number: what stands between thousands. Of a day: how it is written."""
    written: str = ""


Meanings = Mapping[str, Meaning]
"""By the way of reading: of a number by its decimal sign, of a day by its order."""


class Exact(str):
    """A cell whose writing is in no doubt: a number or a day of a spreadsheet."""

    __slots__ = ()


def is_open(found: Meanings) -> bool:
    """Are there two readings that differ?"""
    return len({meaning.plain for meaning in found.values()}) > 1


def one_meaning(plain: str) -> Meanings:
    """The same number whichever the decimal sign."""
    return {".": Meaning(plain), ",": Meaning(plain)}


def number_meanings(written: str) -> Meanings:
    """The number by its decimal sign, "." and ","; empty where it is no number."""
    found: dict[str, Meaning] = {}
    if len(written) > _LONGEST:
        return found
    for sign, pattern in _NUMBER.items():
        match = pattern.fullmatch(written)
        if match is None:
            continue
        whole = re.sub("[^0-9]", "", match["grouped"] or match["plain"] or "")
        part, power = match["part"] or "", match["power"] or ""
        if not (whole or part) or (match["grouped"] and power):
            continue
        text = f"{'-' if match['minus'] else ''}{whole or '0'}{'.' if part else ''}{part}{power}"
        found[sign] = Meaning(text, _BETWEEN[match["by"]] if match["by"] else "", written)
    return found


def parts_of_length(written: str) -> list[str | Meanings]:
    """A length in words, taken apart at its numbers: "1,5 m" is the meanings of "1,5" and " m"."""
    parts: list[str | Meanings] = []
    place = 0
    for match in _IN_WORDS.finditer(written[:_LONGEST]):
        parts += [written[place : match.start()], number_meanings(match[0]) or match[0]]
        place = match.end()
    return [*parts, written[place:]]


def parts_of_breaks(written: str) -> list[str | Meanings]:
    """Price breaks, taken apart at ";" and ":"; of more than a pack can have, no reading is tried."""
    if written.count(";") > _MOST_BREAKS or written.count(":") > _MOST_BREAKS:
        return [{}]
    return [number_meanings(part.strip()) or part for part in re.split(r"([;:]\s?)", written)]


def day_meanings(written: str) -> Meanings | None:
    """The day by its order, day or month first; empty where no such day is, None where it is written otherwise."""
    first = _YEAR_FIRST.fullmatch(written)
    if first is not None:
        year, by, month, day = first.groups()
        return _both(_day(year, month, day), f"year{by}month{by}day")
    last = _YEAR_LAST.fullmatch(written)
    if last is None:
        return None
    one, by, two, year = last.groups()
    if by == ".":
        return _both(_day(year if len(year) == 4 else f"20{year}", two, one), "day.month.year")
    if len(year) == 2:
        return None  # 03/04/05 may be three days
    read = {"day_first": (_day(year, two, one), f"day{by}month{by}year"), "month_first": (_day(year, one, two), f"month{by}day{by}year")}  # fmt: skip
    return {order: Meaning(day, shape) for order, (day, shape) in read.items() if day}


def _both(day: str, shape: str) -> Meanings:
    return {"day_first": Meaning(day, shape), "month_first": Meaning(day, shape)} if day else {}


def _day(year: str, month: str, day: str) -> str:
    try:
        return datetime.date(int(year), int(month), int(day)).isoformat()
    except ValueError:
        return ""
