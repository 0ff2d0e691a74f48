"""What is written in the firm's colour can be read, whatever colour the firm has chosen."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as some
from pypdf import PdfReader

from tests.documents import example_plan as example
from workers.documents import render_order
from workers.documents.colours import contrast_on_white, ink_of

_COLOURS = some.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")


def channels(colour: str) -> list[int]:
    return [int(colour[at : at + 2], 16) for at in (1, 3, 5)]


def test_contrasts_are_those_of_wcag() -> None:
    """WCAG 2.1, relative luminance and contrast ratio (published): black on white is 21, #767676 the palest grey at 4.5."""
    assert contrast_on_white([0, 0, 0]) == pytest.approx(21)
    assert contrast_on_white([0x76, 0x76, 0x76]) >= 4.5 > contrast_on_white([0x77, 0x77, 0x77])


@given(_COLOURS)
def test_letters_in_any_colour_stand_out_from_white(colour: str) -> None:
    assert contrast_on_white(channels(ink_of(colour))) >= 4.5


@given(_COLOURS)
def test_a_colour_that_is_dark_enough_stays_as_it_is(colour: str) -> None:
    assert (ink_of(colour) == colour) == (contrast_on_white(channels(colour)) >= 4.5)


def test_a_pale_colour_rules_lines_but_writes_nothing() -> None:
    pdf = render_order(
        example.ORDER, replace(example.PROFILE, accent_colour="#ffd500"), made_at=example.MADE_AT
    )
    content = PdfReader(io.BytesIO(pdf)).pages[0].get_contents()
    assert content is not None
    yellow = rb"1(\.0+)? 0\.835\d* 0(\.0+)?"
    assert re.search(yellow, content.get_data())
    for text in re.findall(rb"BT.*?ET", content.get_data(), re.DOTALL):
        assert not re.search(yellow + rb" rg", text)
