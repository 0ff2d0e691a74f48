"""What the engine says in a plan and on a walk-round: by its key for documents of any language, and in English beside it."""

from __future__ import annotations

from typing import Literal

from api_schema.engine_words import in_english
from api_schema.plan import Check
from api_schema.said import Said
from api_schema.walk_round import WalkItem, WalkKind


def check(level: Literal["warning", "note"], code: str, sentence: Said, pointer: str = "") -> Check:
    """A check with its sentence in words and taken apart. Raises `KeyError` for a key without words."""
    return Check(level, code, in_english(sentence), pointer, sentence)


def walk_item(kind: WalkKind, what: Said, look_for: Said) -> WalkItem:
    """Something to look at, in words and taken apart. Raises `KeyError` for a key without words."""
    return WalkItem(kind, in_english(what), in_english(look_for), what, look_for)
