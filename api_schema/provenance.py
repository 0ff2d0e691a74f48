"""Where a default comes from, so that nobody mistakes a habit for a published figure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, text

ProvenanceKind = Literal["published", "common practice", "memory", "invented", "yours", "learnt"]
PROVENANCE_KINDS: tuple[ProvenanceKind, ...] = (
    "published",
    "common practice",
    "memory",
    "invented",
    "yours",
    "learnt",
)


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where one value comes from."""

    of: Annotated[str, text("The name of the value.", example="lap_mm", longest=80)]
    kind: Annotated[
        ProvenanceKind,
        choice(
            "published: the source is named; common practice: a rule of the trade; memory: recalled, please confirm; invented: demo data; yours: set by this account; learnt: from this account's own finished jobs.",
            PROVENANCE_KINDS,
            example="common practice",
        ),
    ]
    note: Annotated[
        str,
        text("The source, or what to bear in mind.", example="at least 100 mm across members", longest=400),
    ] = ""
