"""Nothing is fetched while a document is made, and nothing a user wrote is taken as markup."""

import re
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from api_schema.standard import Standard
from tests.documents import example_plan as example
from workers.documents import DocumentError, render_order, render_quote, render_site_pack
from workers.documents.renderer import to_pdf

HOSTILE = """<img src="file:///etc/passwd"><style>@import 'http://127.0.0.1:9/x'</style>"><svg/onload=1>&amp;{{ 7*7 }}"""


@pytest.mark.parametrize(
    "page",
    [
        '<img src="file:///etc/passwd" alt="x">',
        '<img src="http://127.0.0.1:9/pixel.png" alt="x">',
        '<img src="data:image/png;base64,AAAA" alt="x">',
        '<img src="other.png" alt="x">',
        '<img src="asset:../style.css" alt="x">',
        '<p style="background: url(file:///etc/passwd)">x</p>',
        '<li style="list-style: url(http://127.0.0.1:9/)">x</li>',
        "<style>@import url(http://127.0.0.1:9/a.css);</style>",
        "<style>@font-face { font-family: x; src: url(file:///etc/passwd) } p { font-family: x }</style><p>x</p>",
        '<link rel="stylesheet" href="http://127.0.0.1:9/a.css">',
        '<link rel="attachment" href="file:///etc/passwd">',
        '<object data="file:///etc/passwd"></object>',
    ],
)
def test_a_page_that_asks_for_anything_but_an_asset_is_refused(page: str) -> None:
    with pytest.raises(DocumentError, match="could not be made: a page may not ask for"):
        to_pdf(f"<html lang=en><title>x</title>{page}</html>", {}, example.MADE_AT)


def test_a_drawing_that_cannot_be_shown_fails_the_document_instead_of_leaving_a_gap(
    complaints: list[str],
) -> None:
    svg = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">'
        b'<image href="file:///etc/passwd" width="9" height="9"/></svg>'
    )
    with pytest.raises(DocumentError, match="could not be made: Failed to render SVG image"):
        to_pdf(
            '<html lang=en><title>x</title><img src="asset:evil.svg" alt="x"></html>',
            {"evil.svg": svg},
            example.MADE_AT,
        )
    complaints.clear()  # it was asked for


def test_markup_in_names_titles_and_notes_is_printed_as_it_was_written() -> None:
    customer = replace(example.JOB.customer, name=HOSTILE)
    job = replace(example.JOB, title=HOSTILE, notes=HOSTILE, customer=customer)
    profile = replace(example.PROFILE, name=HOSTILE, terms=HOSTILE)
    quote = replace(example.QUOTE, title=HOSTILE, customer=customer, terms=HOSTILE)
    order = replace(example.ORDER, reference=HOSTILE, deliver_to=(HOSTILE,))
    plan = replace(example.PLAN, checks=(replace(example.PLAN.checks[0], message=HOSTILE),))
    for pdf in (
        render_quote(quote, profile, made_at=example.MADE_AT),
        render_order(order, profile, made_at=example.MADE_AT),
        render_site_pack(job, plan, Standard(), profile, made_at=example.MADE_AT),
    ):
        text = re.sub(r"\s+", "", "".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages))
        assert re.sub(r"\s+", "", HOSTILE) in text


def test_a_colour_that_is_no_colour_is_refused() -> None:
    profile = replace(example.PROFILE, accent_colour="red; background: url(http://127.0.0.1:9/)")
    with pytest.raises(DocumentError, match="accent colour"):
        render_quote(example.QUOTE, profile, made_at=example.MADE_AT)
