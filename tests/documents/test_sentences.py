"""What the engine said, printed in the language of the account."""

import datetime
from decimal import Decimal

import pytest

from api_schema.engine_words import in_english
from api_schema.said import Key, said
from api_schema.shape import dump
from service.pages.html import told
from workers.documents import texts
from workers.documents.formats import Formats

LAP = said("walk.lap", lap="1-2", length_m=Decimal("1205.50"))


def test_numbers_in_a_sentence_are_written_as_the_language_does() -> None:
    assert texts.Texts("en_GB").sentence(LAP, Formats("en_GB"), "") == "Lap 1-2, 1205.50 m"
    assert texts.Texts("de_DE").sentence(LAP, Formats("de_DE"), "") == "Lap 1-2, 1205,50 m"


def test_days_in_a_sentence_are_written_as_the_language_does() -> None:
    ended = said(
        "check.price_held_until",
        product="Lap tape",
        day=datetime.date(2026, 12, 31),
        as_of=datetime.date(2027, 1, 2),
    )
    kept = in_english(ended)
    assert "until 2026-12-31; the plan was priced for 2027-01-02." in kept
    printed = texts.Texts("de_DE").sentence(ended, Formats("de_DE"), "")
    assert "until 31. Dezember 2026; the plan was priced for 2. Januar 2027." in printed
    on_page = told({"message": kept, "said": dump(ended)}, "en_GB")
    assert "until 31 Dec 2026; the plan was priced for 2 Jan 2027." in on_page


def test_words_of_another_key_are_said_in_the_same_language(monkeypatch: pytest.MonkeyPatch) -> None:
    other = {"walk.sealing.inside": "{look} (ø)", "walk.sealing.look": "øøø"}
    monkeypatch.setitem(texts._CATALOGUES, "xx", other)
    inside = said("walk.sealing.inside", look=Key("walk.sealing.look"))
    assert texts.Texts("xx").sentence(inside, Formats("xx"), "") == "øøø (ø)"


def test_what_was_kept_in_words_alone_is_printed_as_it_was_kept() -> None:
    english = texts.Texts("en_GB")
    assert english.sentence(None, Formats("en_GB"), "kept long ago") == "kept long ago"
    assert english.sentence(said("no.such.key"), Formats("en_GB"), "kept long ago") == "kept long ago"
