"""Openings and penetrations of a building, placed as somebody standing inside would measure them.

Facing a wall: from its left end, and up from the floor, up the slope from the eave, or across the ceiling or floor away
from the wall. What both say alike is written once, above them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from api_schema.fields import choice, identifier, length_mm, text, truth, whole
from api_schema.surface import (
    FINISHES,
    OPENING_KINDS,
    PENETRATION_KINDS,
    Finish,
    OpeningKind,
    PenetrationKind,
)

_Wall = Annotated[str, identifier("The wall or dormer one faces when measuring.", example="south")]
_Storey = Annotated[
    str | None, identifier("The storey, where two have a wall of that name.", example="ground")
]
_FromEave = Annotated[
    int | None,
    length_mm("In the slope over that wall: from the slope's lower edge, up the slope.", example=1500),
]
_FromWall = Annotated[int | None, length_mm("In the ceiling or floor: from that wall.", example=600)]
_SlopeAbove = Annotated[
    int, whole("Which slope over the wall, counted upwards from 1.", example=1, minimum=1, maximum=5)
]
_InFloor = Annotated[bool, truth("True: in the floor, where from_wall_mm is given.", example=False)]


@dataclass(frozen=True, slots=True)
class PlacedOpening:
    """A window, door, rooflight, hatch or obstruction, placed as it is measured from inside."""

    id: Annotated[str, identifier("Its name.", example="w1")]
    kind: Annotated[OpeningKind, choice("What it is.", OPENING_KINDS)]
    wall: _Wall
    from_left_mm: Annotated[int, length_mm("From the left end of that wall to its left side.", example=1200)]
    width_mm: Annotated[int, length_mm("Its width.", example=1200, minimum=1)]
    height_mm: Annotated[
        int,
        length_mm(
            "Its height; up the slope, or away from the wall, where it lies there.", example=1400, minimum=1
        ),
    ]
    storey: _Storey = None
    from_floor_mm: Annotated[
        int | None, length_mm("In a wall: from the floor to its lower side.", example=900)
    ] = None
    from_eave_mm: _FromEave = None
    from_wall_mm: _FromWall = None
    slope: _SlopeAbove = 1
    in_floor: _InFloor = False
    finish: Annotated[
        Finish, choice("What the membrane is sealed to round it.", FINISHES, example="frame")
    ] = "frame"


@dataclass(frozen=True, slots=True)
class PlacedPenetration:
    """A pipe, duct, cable, flue or section, placed as it is measured from inside."""

    id: Annotated[str, identifier("Its name.", example="p1")]
    kind: Annotated[PenetrationKind, choice("What passes through.", PENETRATION_KINDS)]
    wall: _Wall
    from_left_mm: Annotated[int, length_mm("From the left end of that wall to its middle.", example=1200)]
    storey: _Storey = None
    from_floor_mm: Annotated[
        int | None, length_mm("In a wall: from the floor to its middle.", example=300)
    ] = None
    from_eave_mm: _FromEave = None
    from_wall_mm: _FromWall = None
    slope: _SlopeAbove = 1
    in_floor: _InFloor = False
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
