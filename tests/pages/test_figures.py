"""Figures as the account's language writes them."""

from types import SimpleNamespace

import pytest

from service.pages.html import length, templates


@pytest.mark.parametrize(
    ("millimetres", "language", "written"),
    [
        (999, "de_DE", "999 mm"),
        (3400, "en_GB", "3.40 m"),
        (3405, "en_GB", "3.405 m"),
        (3400, "de_DE", "3,40 m"),
        (1_234_560, "de_DE", "1.234,56 m"),
        (1_234_560, "fr_FR", "1\N{NARROW NO-BREAK SPACE}234,56 m"),
        (None, "de_DE", "–"),
    ],
)
def test_a_length_is_written_as_the_language_writes_it(
    millimetres: int | None, language: str, written: str
) -> None:
    assert length(millimetres, language) == written


def test_a_length_on_a_page_follows_the_account() -> None:
    page = templates().from_string("{{ 3400|mm }}")
    assert page.render() == "3.40 m"
    assert page.render(visit=SimpleNamespace(language="de_DE")) == "3,40 m"
