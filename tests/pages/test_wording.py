"""Names for programs, said to people."""

from __future__ import annotations

from api_schema.outputs import OPERATIONS
from api_schema.take_off import ITEMS
from service.pages.wording import ITEM_WORDS, MATERIALS, item, operation, place


def test_a_place_in_a_form_is_said_with_the_names_that_were_given() -> None:
    names = {"/building/openings/0": "w1", "/surfaces/2": "north"}
    named = lambda at: names.get(at, "")  # noqa: E731
    assert place("/building/openings/0/width_mm", named) == "opening w1, width"
    assert place("/building/openings/1/width_mm", named) == "opening 2, width"
    assert place("/surfaces/2/_wide", named) == "surface north, width"
    assert place("/volume_m3") == "heated volume"
    assert place("/building") == "building"
    assert place("") == "the job"


def test_every_operation_and_item_has_words_of_its_own() -> None:
    for names, words in ((OPERATIONS, operation), (ITEMS, item)):
        said = [words(name) for name in names]
        assert len(set(said)) == len(names)
        assert not [word for word in said if "_" in word or not word[0].isupper()]
    assert set(MATERIALS) <= set(ITEM_WORDS) == set(ITEMS)


def test_what_has_no_words_is_read_as_it_is_written() -> None:
    assert item("fire_stop-band") == "fire stop band"
