"""A building described by what is measured in it: storeys, roofs, and what is particular about its walls.

All plan points are [x, y] of the inside face, in one frame for the whole building. Wall i of a storey runs from
corner i to corner i+1 of its footprint. Heights of a roof are measured from the floor of its storey. How openings and
pipes are placed in it stands in `placed`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import (
    Number,
    choice,
    identifier,
    length_mm,
    list_of,
    many,
    number,
    one,
    point,
    points,
    truth,
)
from api_schema.placed import PlacedOpening, PlacedPenetration
from api_schema.surface import (
    FINISHES,
    Finish,
    Members,
    Outline,
)

RoofForm = Literal["flat", "mono_pitch", "gable", "hip", "half_hip", "gambrel"]
ROOF_FORMS: tuple[RoofForm, ...] = ("flat", "mono_pitch", "gable", "hip", "half_hip", "gambrel")
RoofLayer = Literal["rafters", "joists"]
DormerRoof = Literal["flat", "mono_pitch", "gable"]
PassesOrNot = Literal["passes", "interrupted"]

MOST_FOOTPRINT_CORNERS = 100
MOST_STOREYS = 40
TALLEST_MM = 100_000
_PLAN = [[0, 0], [9000, 0], [9000, 7000], [0, 7000]]


def _pitch(description: str, example: str = "40") -> Number:
    return number(description, example=example, unit="deg", minimum="1", maximum="85", plain=True)


def _part(description: str, example: str) -> Number:
    return number(description, example=example, unit="1", minimum="0.001", maximum="100000", plain=True)


@dataclass(frozen=True, slots=True)
class Slope:
    """How the roof rises from one wall, where it differs from the rest."""

    wall: Annotated[str, identifier("The wall it rises from.", example="north")]
    pitch_deg: Annotated[Decimal | None, _pitch("Its pitch.")] = None
    rise: Annotated[Decimal | None, _part("Instead of degrees: it rises this much ...", "4")] = None
    run: Annotated[Decimal | None, _part("... over this level distance.", "12")] = None
    from_mm: Annotated[
        int | None,
        length_mm(
            "Where it starts above the floor; the storey's height where not said.",
            example=1100,
            maximum=TALLEST_MM,
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class RoofLine:
    """A ridge, hip or valley measured in the building, as the layer sees it."""

    from_mm: Annotated[tuple[int, int], point("One end in plan.", example=[2000, 3500])]
    to_mm: Annotated[tuple[int, int], point("The other end in plan.", example=[7000, 3500])]
    from_height_mm: Annotated[
        int, length_mm("Height of the one end above the floor.", example=4100, maximum=TALLEST_MM)
    ]
    to_height_mm: Annotated[
        int, length_mm("Height of the other end above the floor.", example=4100, maximum=TALLEST_MM)
    ]


@dataclass(frozen=True, slots=True)
class Roof:
    """The roof over a storey, and whether the layer follows its rafters or stays level at the joists."""

    form: Annotated[RoofForm, choice("Its form.", ROOF_FORMS, example="gable")]
    pitch_deg: Annotated[Decimal | None, _pitch("Pitch of its slopes.")] = None
    rise: Annotated[Decimal | None, _part("Instead of degrees: it rises this much, say 4, ...", "4")] = None
    run: Annotated[Decimal | None, _part("... over this level distance, say 12.", "12")] = None
    layer: Annotated[RoofLayer, choice("Where the layer runs.", ("rafters", "joists"), example="rafters")] = (
        "rafters"
    )
    gables: Annotated[
        tuple[str, ...],
        list_of(
            identifier("A wall.", example="east"),
            "Walls that go up to the roof as gables; the two shorter ones of a four-cornered footprint where not said.",
            most=MOST_FOOTPRINT_CORNERS,
        ),
    ] = ()
    low_wall: Annotated[str | None, identifier("Mono-pitch: the wall at its low side.", example="south")] = (
        None
    )
    break_mm: Annotated[
        int | None,
        length_mm(
            "Gambrel: height above the floor where the pitch changes.", example=2000, maximum=TALLEST_MM
        ),
    ] = None
    upper_pitch_deg: Annotated[Decimal | None, _pitch("Gambrel: pitch above that.", example="25")] = None
    half_hip_mm: Annotated[
        int | None,
        length_mm(
            "Half-hip: height above the floor where the gables lean back.", example=3200, maximum=TALLEST_MM
        ),
    ] = None
    collar_mm: Annotated[
        int | None,
        length_mm(
            "Height above the floor of a level ceiling at the collars.", example=2400, maximum=TALLEST_MM
        ),
    ] = None
    slopes: Annotated[
        tuple[Slope, ...], many(Slope, "Walls whose slope differs.", most=MOST_FOOTPRINT_CORNERS)
    ] = ()
    lines: Annotated[
        tuple[RoofLine, ...],
        many(
            RoofLine,
            "Every ridge, hip and valley as measured; with them form and pitch are not used to find the faces.",
            most=MOST_FOOTPRINT_CORNERS * 3,
        ),
    ] = ()


@dataclass(frozen=True, slots=True)
class Dormer:
    """A dormer standing on the slope above a wall; its front, cheeks and roof are lined."""

    id: Annotated[str, identifier("Its name; its front is a wall of that name.", example="dormer-1")]
    wall: Annotated[str, identifier("The wall under the slope it stands on.", example="south")]
    from_left_mm: Annotated[int, length_mm("From the left end of that wall to its left cheek.", example=2400)]
    width_mm: Annotated[int, length_mm("Inside width.", example=1600, minimum=200, maximum=50_000)]
    height_mm: Annotated[
        int,
        length_mm(
            "Floor to its ceiling, or to the top of its cheeks under a gabled roof, at the front.",
            example=2200,
            minimum=200,
            maximum=TALLEST_MM,
        ),
    ]
    set_back_mm: Annotated[
        int, length_mm("Level distance of its front behind the wall.", example=0, maximum=50_000)
    ] = 0
    roof: Annotated[
        DormerRoof, choice("Its roof; mono-pitch rises inwards.", ("flat", "mono_pitch", "gable"))
    ] = "flat"
    pitch_deg: Annotated[Decimal | None, _pitch("Pitch of its roof.", example="15")] = None


@dataclass(frozen=True, slots=True)
class Partition:
    """An internal wall, straight, reaching from floor to ceiling."""

    id: Annotated[str, identifier("Its name.", example="p1")]
    from_mm: Annotated[tuple[int, int], point("One end of its middle line.", example=[4000, 0])]
    to_mm: Annotated[tuple[int, int], point("The other end.", example=[4000, 7000])]
    thickness_mm: Annotated[int, length_mm("Its thickness.", example=100, minimum=10, maximum=1000)] = 100
    layer: Annotated[
        PassesOrNot,
        choice(
            "passes: the membrane was hung before this wall and runs past it; interrupted: it ends at this wall.",
            ("passes", "interrupted"),
        ),
    ] = "passes"
    finish: Annotated[Finish, choice("What the membrane is sealed to where it ends at it.", FINISHES)] = (
        "timber"
    )


@dataclass(frozen=True, slots=True)
class Storey:
    """One storey, or one part of a storey: a footprint, a height, and what is above it."""

    id: Annotated[str, identifier("Its name; surfaces are named after it.", example="ground")]
    footprint_mm: Annotated[
        Outline,
        points(
            "Corners of the inside faces of its outer walls, in order, either way round.",
            example=_PLAN,
            fewest=3,
            most=MOST_FOOTPRINT_CORNERS,
        ),
    ]
    height_mm: Annotated[
        int,
        length_mm(
            "Floor to level ceiling; under a roof lined at the rafters, floor to where the slope starts.",
            example=2450,
            maximum=TALLEST_MM,
        ),
    ]
    wall_names: Annotated[
        tuple[str, ...],
        list_of(
            identifier("A wall.", example="south"),
            "Names of its walls in order, wall i from corner i to corner i+1; wall-1, wall-2 ... where not said.",
            most=MOST_FOOTPRINT_CORNERS,
        ),
    ] = ()
    courtyards_mm: Annotated[
        tuple[Outline, ...],
        list_of(
            points("Corners of a courtyard.", example=_PLAN, fewest=3, most=MOST_FOOTPRINT_CORNERS),
            "Courtyards left out of the footprint; their walls are court-1-wall-1 and so on.",
            most=10,
        ),
    ] = ()
    floor_at_mm: Annotated[
        int | None,
        length_mm(
            "Height of its floor above the building's zero; on top of the storey listed before it where not said.",
            example=0,
            minimum=-TALLEST_MM,
            maximum=TALLEST_MM,
        ),
    ] = None
    floor_zone_mm: Annotated[
        int,
        length_mm(
            "Thickness of the floor it stands on, from the ceiling below to its own floor.",
            example=300,
            maximum=3000,
        ),
    ] = 300
    floor_zone: Annotated[
        PassesOrNot,
        choice(
            "passes: membrane was laid round the ends of the joists and is lined as a surface; interrupted: the layer ends at the floor and the rim is left to others.",
            ("passes", "interrupted"),
        ),
    ] = "passes"
    floor: Annotated[
        Literal["slab", "lined"] | None,
        choice(
            "slab: it is not lined and the walls end on it; lined: where nothing heated is under it, it is a surface. Where not said: slab on the lowest level, lined above.",
            ("slab", "lined"),
        ),
    ] = None
    roof: Annotated[Roof | None, one(Roof, "What is over it; a level ceiling where not said.")] = None
    dormers: Annotated[tuple[Dormer, ...], many(Dormer, "Its dormers.", most=50)] = ()
    partitions: Annotated[tuple[Partition, ...], many(Partition, "Its internal walls.", most=100)] = ()


@dataclass(frozen=True, slots=True)
class WallNote:
    """What is particular about one wall."""

    storey: Annotated[str, identifier("The storey.", example="ground")]
    wall: Annotated[str, identifier("The wall.", example="east")]
    party: Annotated[bool, truth("True where it stands against a neighbour.", example=True)] = False
    lined: Annotated[
        bool, truth("False where it carries no membrane and the others end on it.", example=False)
    ] = True
    finish: Annotated[Finish, choice("Where it is not lined: what the others are sealed to.", FINISHES)] = (
        "masonry"
    )


_STUDS = Members(direction="up", centres_mm=400, width_mm=45)
_RAFTERS = Members(direction="up", centres_mm=600, width_mm=45)


@dataclass(frozen=True, slots=True)
class Building:
    """A building from which surfaces and junctions are derived."""

    storeys: Annotated[
        tuple[Storey, ...],
        many(
            Storey,
            "Storeys from the lowest up; parts of a storey follow one another.",
            fewest=1,
            most=MOST_STOREYS,
        ),
    ]
    walls: Annotated[tuple[WallNote, ...], many(WallNote, "Walls with something particular.", most=1000)] = ()
    openings: Annotated[tuple[PlacedOpening, ...], many(PlacedOpening, "Placed openings.", most=1000)] = ()
    penetrations: Annotated[
        tuple[PlacedPenetration, ...], many(PlacedPenetration, "Placed penetrations.", most=5000)
    ] = ()
    studs: Annotated[Members, one(Members, "The timbers of the walls.")] = field(default=_STUDS)
    rafters: Annotated[Members, one(Members, "The timbers of the slopes.")] = field(default=_RAFTERS)
    joists: Annotated[
        Members | None,
        one(
            Members,
            'The timbers of ceilings and floors, "up" along y and "across" along x of the plan; 400 mm centres the shorter way where not said.',
        ),
    ] = None
