"""A surface: one plane to be lined, with its members, edges, openings and penetrations, in its own flat frame.

The frame: u to the right, v up, seen from inside the room, in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import (
    choice,
    direction,
    identifier,
    length_mm,
    many,
    one,
    point,
    points,
    text,
    truth,
    whole,
)

SurfaceKind = Literal["wall", "ceiling", "slope", "floor", "reveal"]
SURFACE_KINDS: tuple[SurfaceKind, ...] = ("wall", "ceiling", "slope", "floor", "reveal")
Finish = Literal["timber", "masonry", "slab", "frame", "open"]
FINISHES: tuple[Finish, ...] = ("timber", "masonry", "slab", "frame", "open")
OpeningKind = Literal["window", "door", "rooflight", "hatch", "obstruction"]
OPENING_KINDS: tuple[OpeningKind, ...] = ("window", "door", "rooflight", "hatch", "obstruction")
PenetrationKind = Literal["pipe", "duct", "cable", "flue", "timber", "steel"]
PENETRATION_KINDS: tuple[PenetrationKind, ...] = ("pipe", "duct", "cable", "flue", "timber", "steel")
Run = Literal["cheapest", "across_members", "along_members"]
RUNS: tuple[Run, ...] = ("cheapest", "across_members", "along_members")

MOST_CORNERS = 2000

Outline = tuple[tuple[int, int], ...]
_RECTANGLE = [[0, 0], [6200, 0], [6200, 2450], [0, 2450]]


@dataclass(frozen=True, slots=True)
class Members:
    """The parallel timbers behind a surface: studs, rafters or joists."""

    direction: Annotated[
        str, direction('Which way they run: "up", "across", or degrees from the right upwards.', example="up")
    ]
    centres_mm: Annotated[
        int,
        length_mm("From the middle of one to the middle of the next.", example=400, minimum=50, maximum=5000),
    ]
    width_mm: Annotated[
        int, length_mm("Width of the face the membrane is stapled to.", example=45, minimum=10, maximum=1000)
    ] = 45
    first_mm: Annotated[
        int,
        length_mm(
            "Middle of the first one, from the frame's zero, square to the members.",
            example=0,
            minimum=-100_000,
        ),
    ] = 0


@dataclass(frozen=True, slots=True)
class EdgeFinish:
    """What an edge of the outline ends on where it does not meet another surface."""

    edge: Annotated[
        int,
        whole(
            "Which edge: edge i runs from corner i to corner i+1, counted from 0.",
            example=0,
            maximum=MOST_CORNERS,
        ),
    ]
    finish: Annotated[Finish, choice("What the membrane is sealed to there.", FINISHES, example="slab")]


@dataclass(frozen=True, slots=True)
class Opening:
    """A hole in a surface: window, door, rooflight, hatch, or a beam, post or chimney breast that interrupts it."""

    id: Annotated[str, identifier("Its name on this surface.", example="w1")]
    kind: Annotated[OpeningKind, choice("What it is.", OPENING_KINDS)]
    outline_mm: Annotated[
        Outline,
        points(
            "Its corners in order.",
            example=[[1800, 900], [3600, 900], [3600, 2100], [1800, 2100]],
            fewest=3,
            most=MOST_CORNERS,
        ),
    ]
    finish: Annotated[
        Finish, choice("What the membrane is sealed to round it.", FINISHES, example="frame")
    ] = "frame"


@dataclass(frozen=True, slots=True)
class Penetration:
    """Anything that passes through the layer: a pipe, duct, cable, flue, or a timber or steel section."""

    id: Annotated[str, identifier("Its name on this surface.", example="p1")]
    kind: Annotated[PenetrationKind, choice("What passes through.", PENETRATION_KINDS)]
    at_mm: Annotated[tuple[int, int], point("Its middle.", example=[5200, 300])]
    diameter_mm: Annotated[
        int | None, length_mm("Outside diameter of a round one.", example=110, minimum=1, maximum=2000)
    ] = None
    width_mm: Annotated[int | None, length_mm("Width of a section.", example=70, minimum=1, maximum=5000)] = (
        None
    )
    height_mm: Annotated[
        int | None, length_mm("Height of a section.", example=220, minimum=1, maximum=5000)
    ] = None
    free_end: Annotated[
        bool, truth("True where a collar can still be slipped over its end.", example=False)
    ] = False
    count: Annotated[int, whole("How many alike stand here.", example=1, minimum=1, maximum=500)] = 1
    note: Annotated[str, text("A word for the crew.", example="soil pipe")] = ""


@dataclass(frozen=True, slots=True)
class Surface:
    """One plane to be lined."""

    id: Annotated[str, identifier("Its name in this job.", example="living-north")]
    kind: Annotated[SurfaceKind, choice("What it is.", SURFACE_KINDS)]
    outline_mm: Annotated[
        Outline,
        points(
            "Its corners in order, either way round; stored counter-clockwise.",
            example=_RECTANGLE,
            fewest=3,
            most=MOST_CORNERS,
        ),
    ]
    members: Annotated[Members, one(Members, "The timbers behind it.")]
    room: Annotated[str, text("The room it belongs to.", example="living", longest=80)] = ""
    edges: Annotated[
        tuple[EdgeFinish, ...],
        many(EdgeFinish, "Edges that end on something else than another surface.", most=MOST_CORNERS),
    ] = ()
    openings: Annotated[tuple[Opening, ...], many(Opening, "Its holes.", most=200)] = ()
    penetrations: Annotated[
        tuple[Penetration, ...], many(Penetration, "What passes through it.", most=1000)
    ] = ()
    run: Annotated[Run, choice("Which way the strips may run.", RUNS)] = "cheapest"
    working_height_mm: Annotated[
        int | None,
        length_mm(
            "Height of its top above the standing floor; from its own height where not said.",
            example=2450,
            maximum=50_000,
        ),
    ] = None
