"""The English words of what the engine says, by key: the catalogue's part that the engine itself writes from.

Documents have these keys in their catalogue too, so that another language says them in its own words. Each room of the
engine has a table of its own beside this one; `ENGINE_WORDS` joins them.
"""

from __future__ import annotations

from collections.abc import Mapping

from api_schema.engine_words_plan import PLAN_WORDS
from api_schema.engine_words_pressure import PRESSURE_WORDS
from api_schema.said import Said

ENGINE_WORDS: Mapping[str, str] = {**PLAN_WORDS, **PRESSURE_WORDS}


def in_english(sentence: Said) -> str:
    """The sentence as it is kept beside its parts. Raises `KeyError` where no words are known for a key."""
    named = {
        part.name: ENGINE_WORDS[part.value] if part.kind == "key" else part.value for part in sentence.parts
    }
    return ENGINE_WORDS[sentence.key].format(**named)
