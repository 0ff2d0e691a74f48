"""What to look at before the fan is switched on: a list with boxes, surface by surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, many, one, text
from api_schema.said import Said

WalkKind = Literal["face", "lap", "corner", "edge", "opening", "penetration"]


@dataclass(frozen=True, slots=True)
class WalkItem:
    """One thing to look at."""

    kind: Annotated[
        WalkKind, choice("What it is.", ("face", "lap", "corner", "edge", "opening", "penetration"))
    ]
    what: Annotated[str, text("The detail, by its name.", example="p1: pipe, 110 mm, collar", longest=200)]
    look_for: Annotated[
        str, text("What to look for.", example="collar flat on the layer, no wrinkle at the pipe", longest=300)
    ]  # fmt: skip
    what_said: Annotated[Said | None, one(Said, "Its name taken apart, for another language.")] = None
    look_for_said: Annotated[Said | None, one(Said, "What to look for, taken apart.")] = None


@dataclass(frozen=True, slots=True)
class WalkSurface:
    """The list of one surface."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    room: Annotated[str, text("Its room.", example="living", longest=80)]
    items: Annotated[tuple[WalkItem, ...], many(WalkItem, "In the order of the drawing.")]


@dataclass(frozen=True, slots=True)
class WalkRound:
    """The pre-test walk-round of a job."""

    job: Annotated[str, text("The job's reference.", example="PX-014", longest=64)]
    title: Annotated[str, text("The job.", example="Plot 14, one-and-a-half storey house")]
    before: Annotated[tuple[WalkItem, ...], many(WalkItem, "The house as a whole, before the fan is set up.")]  # fmt: skip
    surfaces: Annotated[tuple[WalkSurface, ...], many(WalkSurface, "Surface by surface.")]
