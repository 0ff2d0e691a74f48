"""What the engine says, by key and in words."""

import re
from decimal import Decimal
from string import Formatter

import pytest

from api_schema.engine_words import ENGINE_WORDS, in_english
from api_schema.engine_words_plan import PLAN_WORDS
from api_schema.engine_words_pressure import PRESSURE_WORDS
from api_schema.said import Key, Part, said


def test_a_sentence_keeps_text_numbers_and_words_of_the_catalogue_apart() -> None:
    assert said("any", who="p1", size_mm=110, share=Decimal("0.50"), how=Key("other")).parts == (
        Part("who", "p1"),
        Part("size_mm", "110", "number"),
        Part("share", "0.50", "number"),
        Part("how", "other", "key"),
    )


def test_no_key_is_in_two_tables() -> None:
    assert len(ENGINE_WORDS) == len(PLAN_WORDS) + len(PRESSURE_WORDS)


@pytest.mark.parametrize("key", sorted(ENGINE_WORDS))
def test_a_sentence_is_filled_by_names_alone(key: str) -> None:
    names = [name for _, name, _, _ in Formatter().parse(ENGINE_WORDS[key]) if name is not None]
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", name) for name in names)
    assert in_english(said(key, **dict.fromkeys(names, "x")))
