"""Documents: what was rendered, kept and never changed."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, moment, text, whole

DocumentKind = Literal[
    "quote",
    "order",
    "site_pack",
    "trade_pack",
    "test_report",
    "walk_round",
    "survey_report",
    "cut_labels",
    "drawing_files",
    "quote_xml",
    "order_xml",
]
DOCUMENT_KINDS: tuple[DocumentKind, ...] = (
    "quote", "order", "site_pack", "trade_pack", "test_report", "walk_round", "survey_report", "cut_labels",
    "drawing_files", "quote_xml", "order_xml",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Document:
    """What is known of a document; its bytes are read at `content`."""

    id: Annotated[str, text("Public name of the document.", example="doc_4Zk0c7tQm2")]
    kind: Annotated[DocumentKind, choice("What it is.", DOCUMENT_KINDS)]
    of: Annotated[
        str,
        text("What it shows: a quote, an order, a fan test, or the plan's run.", example="quo_4Zk0c7tQm2"),
    ]
    filename: Annotated[str, text("A sensible name for it.", example="quote-2026-0001-1.pdf")]
    media_type: Annotated[str, text("What kind of file it is.", example="application/pdf")]
    size: Annotated[int, whole("Its length.", example=48_213, maximum=2**31 - 1, unit="B")]
    sha256: Annotated[
        str,
        text(
            "SHA-256 of its bytes, in hex.",
            example="9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
        ),
    ]
    created_at: Annotated[datetime.datetime, moment("When it was rendered.")]
    content: Annotated[str, text("Where its bytes are read.", example="/v1/documents/doc_4Zk0c7tQm2")]
