"""A sentence of the engine taken apart: its key and what it names, so that a document can say it in another language.

The English words of every key stand in `api_schema.engine_words`; a record keeps the sentence in English beside the
parts, for programs and for what was stored before there were parts.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, many, text

PartKind = Literal["words", "number", "key", "day"]
PART_KINDS: tuple[PartKind, ...] = ("words", "number", "key", "day")


@dataclass(frozen=True, slots=True)
class Part:
    """One thing a sentence names."""

    name: Annotated[str, text("Its place in the sentence.", example="size_mm", longest=40)]
    value: Annotated[str, text("What stands there.", example="110", longest=600)]
    kind: Annotated[
        PartKind,
        choice(
            "words: as it stands; number: written as the language does; key: words of the catalogue by this key; day: ISO 8601, written as the language does.",
            PART_KINDS,
        ),
    ] = "words"


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence by its key."""

    key: Annotated[str, text("Key of the sentence.", example="check.captive_pipe", longest=80)]
    parts: Annotated[tuple[Part, ...], many(Part, "What it names.", most=40)] = ()


@dataclass(frozen=True, slots=True)
class Key:
    """Words of the catalogue as a part of a sentence."""

    key: str


def said(key: str, **named: str | int | Decimal | Key | datetime.date) -> Said:
    """The sentence of `key` with what it names: text as it stands, numbers and days to be written, other keys."""
    return Said(key, tuple(_part(name, value) for name, value in named.items()))


def _part(name: str, value: str | int | Decimal | Key | datetime.date) -> Part:
    if isinstance(value, datetime.date):
        return Part(name, value.isoformat(), "day")
    if isinstance(value, Key):
        return Part(name, value.key, "key")
    if isinstance(value, str):
        return Part(name, value)
    return Part(name, format(Decimal(value), "f"), "number")
