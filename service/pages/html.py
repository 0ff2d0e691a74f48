"""From templates to answers: the Jinja environment, how figures are written, and the headers of every page."""

from __future__ import annotations

import datetime
import hashlib
import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_datetime
from babel.numbers import format_currency, format_decimal, format_percent
from flask import Response, request
from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context

from service.pages import wording

HTML = "text/html; charset=utf-8"
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; script-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
_UNITS = {"m2": "m²", "m3": "m³", "piece": "pcs", "crew_day": "crew day"}
_SEVERAL = ("room", "job", "day", "crew day", "pack")


@cache
def templates() -> Environment:
    """The environment of every page."""
    environment = Environment(
        loader=PackageLoader("service.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "figure": figure, "money": money, "mm": _length_here, "part": part, "day": day, "moment": moment, "told": told,
        "words": words, "unit": unit, "anchor": anchor, "pair": lambda word: (word, words(word)), "counted": counted,
        "pair_same": lambda word: (word, word), "operation": wording.operation, "item": wording.item,
    }  # fmt: skip
    return environment


def rendered(template: str, **values: Any) -> bytes:
    """A template with its values, as UTF-8."""
    return templates().get_template(template).render(**values).encode()


def private_page(template: str, *, status: int = 200, **values: Any) -> Response:
    """A page with somebody's data on it: never stored by anything between us and the browser."""
    response = Response(rendered(template, **values), status=status, content_type=HTML)
    response.headers["Content-Security-Policy"] = POLICY
    return response


def public_page(body: bytes, media_type: str = HTML, *, kept_s: int = 0) -> Response:
    """A page or asset that is the same for everybody; `kept_s` lets browsers keep it that long unasked."""
    response = Response(body, content_type=media_type)
    response.headers["Content-Security-Policy"] = POLICY
    response.headers["Cache-Control"] = f"public, max-age={kept_s}" if kept_s else "public, no-cache"
    response.set_etag(hashlib.sha256(body).hexdigest()[:32])
    return response.make_conditional(request)  # type: ignore[return-value]


def locale_of(language: str) -> Locale:
    """The locale of a profile's language; British English where it is not known."""
    try:
        return Locale.parse(language)
    except (UnknownLocaleError, ValueError):
        return Locale.parse("en_GB")


def figure(value: Any, language: str = "en_GB", places: int | None = None) -> str:
    """A number as people of that language write it, no more decimals than it has; a dash for nothing."""
    if value is None or value == "":
        return "–"
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        return str(value)
    shown = "#,##0.###" if places is None else "#,##0" + (f".{'0' * places}" if places else "")
    return str(format_decimal(number, format=shown, locale=locale_of(language)))


def money(value: Any, currency: str = "EUR", language: str = "en_GB") -> str:
    """An amount with its currency."""
    if value is None or value == "":
        return "–"
    return str(format_currency(Decimal(str(value)), currency, locale=locale_of(language)))


def length(millimetres: Any, language: str = "en_GB") -> str:
    """A length to be read: metres from one metre up, else millimetres."""
    if millimetres is None or millimetres == "":
        return "–"
    whole = int(millimetres)
    if abs(whole) < 1000:
        return f"{whole} mm"
    metres = format_decimal(Decimal(whole) / 1000, format="#,##0.00#", locale=locale_of(language))
    return f"{metres} m"


@pass_context
def _length_here(context: Context, millimetres: Any) -> str:
    """As the account whose page it is writes it."""
    visit = context.get("visit")
    return length(millimetres) if visit is None else length(millimetres, visit.language)


def part(value: Any, language: str = "en_GB") -> str:
    """A part of one, in hundredths."""
    return str(format_percent(Decimal(str(value)), format="#,##0.#%", locale=locale_of(language)))


def _parsed(value: Any) -> Any:
    return datetime.datetime.fromisoformat(value) if isinstance(value, str) else value


def day(value: Any, language: str = "en_GB") -> str:
    """A calendar day."""
    return "–" if value is None else str(format_date(_parsed(value), "d MMM y", locale=locale_of(language)))


def told(check: Mapping[str, Any], language: str = "en_GB") -> str:
    """What a check of a plan says, its days written as the language does."""
    words = str(check["message"])
    for one in (check.get("said") or {}).get("parts", ()):
        if one["kind"] == "day":
            words = words.replace(one["value"], day(one["value"], language))
    return words


def moment(value: Any, language: str = "en_GB") -> str:
    """A moment, in UTC and said to be so."""
    if value is None:
        return "–"
    return str(format_datetime(_parsed(value), "d MMM y, HH:mm", locale=locale_of(language))) + " UTC"


def words(name: Any) -> str:
    """A stable word for programs, as people read it: ``lap_tape`` is "lap tape"."""
    return re.sub(r"[_-]+", " ", str(name))


def counted(number: int, word: str) -> str:
    """How many of something: "1 strip", "2 strips"."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def unit(name: Any, number: Any = 1) -> str:
    """A unit as it is written: beside a number that is not one, rooms and days are several."""
    word = _UNITS.get(str(name), str(name))
    return word + "s" if word in _SEVERAL and Decimal(str(number)) != 1 else word


def anchor(pointer: Any) -> str:
    """The id of the element that stands for a JSON Pointer."""
    return "at" + re.sub(r"[^A-Za-z0-9_/-]", "-", str(pointer)).replace("/", ".")


def merged(*parts: Mapping[str, Any]) -> dict[str, Any]:
    """Several mappings as one, later ones over earlier ones."""
    return {name: value for mapping in parts for name, value in mapping.items()}
