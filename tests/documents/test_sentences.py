"""What the engine said, printed in the language of the account."""

from decimal import Decimal

import pytest

from api_schema.said import Key, said
from workers.documents import texts
from workers.documents.formats import Formats

LAP = said("walk.lap", lap="1-2", length_m=Decimal("1205.50"))


def test_numbers_in_a_sentence_are_written_as_the_language_does() -> None:
    assert texts.Texts("en_GB").sentence(LAP, Formats("en_GB"), "") == "Lap 1-2, 1205.50 m"
    assert texts.Texts("de_DE").sentence(LAP, Formats("de_DE"), "") == "Lap 1-2, 1205,50 m"


def test_words_of_another_key_are_said_in_the_same_language(monkeypatch: pytest.MonkeyPatch) -> None:
    other = {"walk.sealing.inside": "{look} (ø)", "walk.sealing.look": "øøø"}
    monkeypatch.setitem(texts._CATALOGUES, "xx", other)
    inside = said("walk.sealing.inside", look=Key("walk.sealing.look"))
    assert texts.Texts("xx").sentence(inside, Formats("xx"), "") == "øøø (ø)"


def test_what_was_kept_in_words_alone_is_printed_as_it_was_kept() -> None:
    english = texts.Texts("en_GB")
    assert english.sentence(None, Formats("en_GB"), "kept long ago") == "kept long ago"
    assert english.sentence(said("no.such.key"), Formats("en_GB"), "kept long ago") == "kept long ago"
