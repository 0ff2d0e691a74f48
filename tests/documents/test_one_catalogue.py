"""Another language is a file: every word the house prints comes from the catalogue, and every catalogue is whole."""

import dataclasses
import io
import re
import string
from collections.abc import Iterator
from typing import Any

import pytest
from pypdf import PdfReader

from api_schema.defaults import default_price_book
from api_schema.engine_words import in_english
from api_schema.job import Job
from api_schema.outputs import OPERATION_WORDS
from api_schema.plan import Plan
from api_schema.price import PRICE_GROUPS
from api_schema.shape import dump
from api_schema.standard import Standard
from service.pages import choices
from tests.documents import example_plan as example
from tests.documents import test_every_document
from tests.documents.test_pressure_report import TEST
from workers.documents import draw_surface, render_drawing, texts
from workers.engine.pressure.walk_round import walk_round

OTHER = "xx"
_LETTERS = str.maketrans(dict.fromkeys(string.ascii_letters, "ø"))


def _made_up(text: str) -> str:
    """The text in a language of which every letter is ø; what is filled in stays."""
    parts = string.Formatter().parse(text)
    return "".join(
        words.translate(_LETTERS).replace("{", "{{").replace("}", "}}") + (f"{{{name}}}" if name else "")
        for words, name, _, _ in parts
    )


def _named(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("language", sorted(texts._CATALOGUES))
def test_a_language_has_every_text_and_fills_in_the_same(language: str) -> None:
    english, other = texts._CATALOGUES["en"], texts._CATALOGUES[language]
    assert sorted(other) == sorted(english)
    assert [key for key, text in other.items() if _named(text) != _named(english[key])] == []


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _strings(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _strings(inner)


def _typed(job: Job, plan: Plan) -> set[str]:
    """Words that somebody typed: names, addresses, notes, codes; and what plan and standard say in words."""
    book = dump(default_price_book())
    said: list[Any] = [
        dataclasses.asdict(test_every_document.PROFILE), example.QUOTE.terms, dump(example.ORDER.supplier), dump(TEST),
        [(line.product, line.name) for line in example.ORDER_LINES],
        [(product["code"], product["name"]) for product in book["products"]],
        [entry.note for entry in Standard().provenance],
    ]  # fmt: skip
    for one in (job, example.JOB):
        said += [one.reference, one.title, one.notes, dump(one.customer)]
        for surface in one.surfaces:
            said += [surface.id, surface.room]
            said += [(hole.id, hole.note) for hole in surface.penetrations]
            said += [opening.id for opening in surface.openings]
    return {word for words in _strings(said) for word in re.findall(r"[A-Za-z]+", words)}


def _is_known(word: str, known: set[str]) -> bool:
    """Words that stand apart on the page may come out of the file as one."""
    return word in known or any(word[:at] in known and word[at:] in known for at in range(2, len(word) - 1))


def test_no_document_says_anything_that_is_not_in_the_catalogue(
    planned_house: tuple[Job, Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    made_up = {key: _made_up(text) for key, text in texts._CATALOGUES["en"].items()}
    monkeypatch.setitem(texts._CATALOGUES, OTHER, made_up)  # type: ignore[arg-type]
    monkeypatch.setattr(
        test_every_document, "PROFILE", dataclasses.replace(test_every_document.PROFILE, language=OTHER)
    )
    known = _typed(*planned_house) | {"EUR", "VAT", "November", "December"}
    foreign = {}
    made = test_every_document.every_document(planned_house)
    wall = draw_surface(example.WALL, example.WALL_LAYOUT, example.SEALINGS, Standard(), 100, language=OTHER)
    made["drawing"] = render_drawing(
        wall, "living-north", example.JOB, example.PLAN, test_every_document.PROFILE, revision=1, made_at=example.MADE_AT
    )  # fmt: skip
    for kind, pdf in made.items():
        words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
        assert "ø" in words, kind
        found = {word for word in re.findall(r"[A-Za-z]{3,}", words) if not _is_known(word, known)}
        if found:
            foreign[kind] = sorted(found)
    assert foreign == {}


def test_what_the_engine_says_of_a_house_is_kept_by_its_key(planned_house: tuple[Job, Plan]) -> None:
    job, plan = planned_house
    walk = walk_round(job, plan.take_off, plan.layout)
    items = [item for items in (walk.before, *(one.items for one in walk.surfaces)) for item in items]
    kept = [
        *((check.said, check.message) for check in plan.checks),
        *((sealing.note_said, sealing.note) for sealing in plan.take_off.penetrations if sealing.note),
        *((item.what_said, item.what) for item in items),
        *((item.look_for_said, item.look_for) for item in items),
    ]
    assert len(kept) > 100
    assert [words for sentence, words in kept if sentence is None or in_english(sentence) != words] == []


def test_the_page_a_customer_answers_on_calls_the_groups_of_a_price_what_the_paper_calls_them() -> None:
    english = texts.Texts("en_GB")
    assert {group: english(f"group.{group}") for group in PRICE_GROUPS} == choices.ON_PAPER


def test_what_is_done_is_called_one_thing_on_quotes_and_on_pages() -> None:
    english = texts.Texts("en_GB")
    said = {operation: words[:1].lower() + words[1:] for operation, words in OPERATION_WORDS.items()}
    assert {operation: english(f"quote.work.{operation}") for operation in OPERATION_WORDS} == said
