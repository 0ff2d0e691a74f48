"""Where the strips lie: the layout of each surface.

Every layout has a run frame: s along the strips, t across them. Where the strips run "across", s = u and t = v;
where they run "up", s = v and t = u; at an angle a (degrees from the right upwards), s = u·cos a + v·sin a and
t = −u·sin a + v·cos a. All `from_mm`/`to_mm` of pieces are s, those of strips and `at_mm` of laps are t.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import (
    choice,
    direction,
    identifier,
    length_mm,
    list_of,
    many,
    money,
    number,
    text,
    truth,
    whole,
)

_MIN = -1_000_000
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Piece:
    """What is cut from a roll for a strip."""

    id: Annotated[str, text("Its name.", example="living-north/1a", longest=100)]
    from_mm: Annotated[int, length_mm("Where it starts along the strip.", example=-70, minimum=_MIN)]
    to_mm: Annotated[int, length_mm("Where it ends along the strip.", example=6270, minimum=_MIN)]
    cut_length_mm: Annotated[int, length_mm("Length to cut, rounded up to the cut step.", example=6400)]
    cut_width_mm: Annotated[int, length_mm("Width to cut.", example=1500)]
    start_slant_mm: Annotated[
        int,
        length_mm(
            "How much a straight slanted cut may leave off at its start: above 0 off its upper edge (the greater t), "
            "below 0 off its lower edge, 0 square.",
            example=420,
            minimum=_MIN,
        ),
    ] = 0
    end_slant_mm: Annotated[int, length_mm("The same at its end.", example=-420, minimum=_MIN)] = 0


@dataclass(frozen=True, slots=True)
class EndLap:
    """Where one piece of a strip overlaps the next."""

    id: Annotated[str, text("Its name.", example="hall-north/1a-b", longest=120)]
    from_mm: Annotated[
        int, length_mm("Where the overlap starts along the strip.", example=4950, minimum=_MIN)
    ]
    to_mm: Annotated[int, length_mm("Where it ends.", example=5050, minimum=_MIN)]
    length_mm: Annotated[
        int, length_mm("Length of the joint across the strip, inside the surface.", example=1500)
    ]
    on_member: Annotated[bool, truth("Is there timber behind it?", example=True)]
    splice: Annotated[
        bool, truth("Is it there to save a roll, and not because the strip is long?", example=False)
    ] = False


@dataclass(frozen=True, slots=True)
class Strip:
    """One run of membrane across a surface, numbered in laying order."""

    id: Annotated[str, text("Its name.", example="living-north/1", longest=100)]
    product: Annotated[str, identifier("The membrane.", example="membrane-1500")]
    from_mm: Annotated[int, length_mm("Lower edge of the band.", example=-100, minimum=_MIN)]
    to_mm: Annotated[int, length_mm("Upper edge of the band.", example=1400, minimum=_MIN)]
    pieces: Annotated[tuple[Piece, ...], many(Piece, "Its pieces in order.")]
    ripped_to_mm: Annotated[
        int | None, length_mm("Width it is ripped to; none where full width.", example=640)
    ] = None
    end_laps: Annotated[tuple[EndLap, ...], many(EndLap, "Joints between its pieces.")] = ()


@dataclass(frozen=True, slots=True)
class Lap:
    """The overlap of two neighbouring strips; its joint line is the lower edge of the upper strip."""

    id: Annotated[str, text("Its name.", example="living-north/1-2", longest=100)]
    at_mm: Annotated[int, length_mm("The joint line, where the tape is centred.", example=1300, minimum=_MIN)]
    spans_mm: Annotated[
        tuple[Span, ...],
        list_of(
            list_of(length_mm("Start or end.", example=0, minimum=_MIN), "From, to.", fewest=2, most=2),
            "Where along the line the joint exists.",
        ),
    ]
    length_m: Annotated[Decimal, number("Length of the joint.", example="6.2", unit="m", plain=True)]
    on_member: Annotated[bool, truth("Does the whole joint lie on a member?", example=False)]
    overlap_mm: Annotated[int, length_mm("Overlap of the two strips.", example=100)]


@dataclass(frozen=True, slots=True)
class EdgeAllowance:
    """How far the layer is carried past one edge of the outline."""

    edge: Annotated[int, whole("The edge.", example=0)]
    role: Annotated[
        Literal["returns", "stops", "timber", "masonry", "slab", "frame", "open"],
        choice(
            "Returning or stopping side of an internal corner, or the finish.",
            ("returns", "stops", "timber", "masonry", "slab", "frame", "open"),
        ),
    ]
    allowance_mm: Annotated[int, length_mm("Added outward.", example=70)]


@dataclass(frozen=True, slots=True)
class SurfaceLayout:
    """The strips of one surface."""

    id: Annotated[str, identifier("The surface.", example="living-north")]
    run: Annotated[
        Literal["across_members", "along_members"],
        choice("How the strips lie to the members.", ("across_members", "along_members")),
    ]
    direction: Annotated[
        str,
        direction(
            'Which way the strips run in the surface\'s frame: "across", "up" or degrees.', example="across"
        ),
    ]
    cost: Annotated[
        Decimal, money("Cost of membrane, laps, pieces and penalties in this layout.", example="61.40")
    ]
    bound: Annotated[Decimal, money("No layout of this surface can cost less.", example="61.40")]
    proven: Annotated[bool, truth("Is it certain that nothing is cheaper?", example=True)]
    strips: Annotated[tuple[Strip, ...], many(Strip, "In laying order.")]
    laps: Annotated[tuple[Lap, ...], many(Lap, "Between neighbouring strips.")]
    edges: Annotated[
        tuple[EdgeAllowance, ...], many(EdgeAllowance, "Allowance at every edge, in the outline's order.")
    ]
    reason: Annotated[
        str,
        text(
            "Why this layout.",
            example="Strips run across the studs; along them would cost 12.40 more.",
            longest=500,
        ),
    ] = ""
    runner_up_cost: Annotated[
        Decimal | None, money("The cheapest layout in the other direction.", example="73.80")
    ] = None


@dataclass(frozen=True, slots=True)
class Layout:
    """The layout of every surface of a job."""

    surfaces: Annotated[tuple[SurfaceLayout, ...], many(SurfaceLayout, "In the job's order.")]
    cost: Annotated[Decimal, money("Sum over surfaces.", example="940.20")]
    bound: Annotated[Decimal, money("Sum of the bounds.", example="940.20")]
    proven: Annotated[bool, truth("All proven?", example=True)]
