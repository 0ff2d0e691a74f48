"""Templates filled in: every value escaped by Jinja, every text from the catalogue."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import zip_longest
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api_schema.account import Profile
from workers.documents.colours import ink_of
from workers.documents.errors import DocumentError
from workers.documents.formats import Formats
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.texts import Texts

_LONGEST_TABLE = 60  # rows; time grows faster than rows, so a longer table goes on as another


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(
    template: str, *, title: str, reference: str, profile: Profile, made_at: datetime.datetime,
    letterhead: Letterhead = PLAIN, **values: Any,
) -> str:  # fmt: skip
    """A template as HTML with the firm's head, its accent colour and the day it was made.

    Where the letterhead has a logo, its assets must be handed to the renderer as well.
    """
    if made_at.tzinfo is None:
        raise DocumentError("The time a document is made at needs its time zone.")
    if not re.fullmatch(r"#[0-9a-f]{6}", profile.accent_colour):
        raise DocumentError("The account's accent colour must look like #1f5c57.")
    texts, formats = Texts(profile.language), Formats(profile.language)
    contact = [", ".join(profile.address), " · ".join(filter(None, (profile.phone, profile.email)))]
    if profile.tax_number:
        contact.append(f"{profile.tax_name} {profile.tax_number}")
    return (
        _templates()
        .get_template(template)
        .render(
            t=texts,
            title=title,
            reference=reference,
            profile=profile,
            logo=bool(letterhead.logo),
            accent=profile.accent_colour,
            accent_ink=ink_of(profile.accent_colour),
            firm_lines=[line for line in contact if line],
            made_on=formats.date(made_at.date()),
            made_at_w3c=made_at.astimezone(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
            **values,
        )
    )


def in_tables(rows: Sequence[Any]) -> Iterator[Sequence[Any]]:
    """Rows in tables no longer than is quick to lay out; nothing where there are no rows."""
    for start in range(0, len(rows), _LONGEST_TABLE):
        yield rows[start : start + _LONGEST_TABLE]


def two_columns(rows: Sequence[tuple[str, str]]) -> list[tuple[tuple[str, str], tuple[str, str] | None]]:
    """Short rows in two columns of a table, read down the left one, then down the right one."""
    half = -(-len(rows) // 2)
    return list(zip_longest(rows[:half], rows[half:]))
