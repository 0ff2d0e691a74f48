"""Which pieces are cut from which roll, in what order."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, length_mm, list_of, many, money, one, text, truth, whole

_MIN = -1_000_000


@dataclass(frozen=True, slots=True)
class Lane:
    """A width ripped from a cut, holding pieces end to end."""

    width_mm: Annotated[int, length_mm("Width of the lane.", example=700)]
    pieces: Annotated[
        tuple[str, ...], list_of(text("A piece.", example="hall-north/3a", longest=100), "Pieces end to end.")
    ]


@dataclass(frozen=True, slots=True)
class SlantedCut:
    """Two pieces parted by a slanted cut, seen face up with the start of the roll to the left.

    Pieces are turned half round, never turned over: the face stays up.
    """

    pieces: Annotated[
        tuple[str, ...],
        list_of(
            text("A piece.", example="gable-west/2a", longest=100), "From left to right.", fewest=2, most=2
        ),
    ]
    near_mm: Annotated[
        int, length_mm("Where it meets the near edge, from the start of the cut.", example=3820)
    ]
    far_mm: Annotated[int, length_mm("Where it meets the far edge.", example=2960)]
    turned: Annotated[
        tuple[str, ...],
        list_of(
            text("A piece.", example="gable-west/3a", longest=100),
            "Those that lie turned half round.",
            most=2,
        ),
    ] = ()


@dataclass(frozen=True, slots=True)
class Cut:
    """One length cut across a roll, then ripped where several narrow pieces lie side by side."""

    at_mm: Annotated[int, length_mm("Where on the roll it starts.", example=0)]
    length_mm: Annotated[int, length_mm("Its length.", example=6400)]
    pieces: Annotated[
        tuple[str, ...],
        list_of(
            text("A piece.", example="living-north/1a", longest=100), "Every piece that comes out of it."
        ),
    ]
    lanes: Annotated[
        tuple[Lane, ...],
        many(Lane, "How it is ripped; empty where one piece, or two parted at a slant, take the full width."),
    ] = ()
    slanted: Annotated[
        tuple[SlantedCut, ...], many(SlantedCut, "Slanted cuts inside it; none where all is square.")
    ] = ()


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll or offcut and how it is cut."""

    roll: Annotated[int, whole("Number, in laying order.", example=1)]
    product: Annotated[str, identifier("The membrane.", example="membrane-1500")]
    length_mm: Annotated[int, length_mm("Its length.", example=50_000)]
    width_mm: Annotated[int, length_mm("Its width.", example=1500)]
    from_stock: Annotated[bool, truth("On hand already?", example=False)]
    cuts: Annotated[tuple[Cut, ...], many(Cut, "In order from the free end.")]
    remnant_mm: Annotated[int, length_mm("Left at the end.", example=1200)]


@dataclass(frozen=True, slots=True)
class KeptOffcut:
    """An offcut or remnant worth keeping for the next job."""

    product: Annotated[str, identifier("The membrane.", example="membrane-1500")]
    length_mm: Annotated[int, length_mm("Length.", example=8200)]
    width_mm: Annotated[int, length_mm("Width.", example=1500)]
    roll: Annotated[int, whole("The roll it is left on.", example=3)]


@dataclass(frozen=True, slots=True)
class Splice:
    """A piece made of two parts from two rolls, joined by an end lap on a member."""

    piece: Annotated[str, text("The piece as it would be whole.", example="living-north/1a", longest=100)]
    parts: Annotated[
        tuple[str, ...],
        list_of(
            text("A part.", example="living-north/1a.1", longest=100),
            "Its parts along the run, as they are laid and cut.",
            fewest=2,
            most=2,
        ),
    ]
    from_mm: Annotated[int, length_mm("Where the overlap starts along the run.", example=2350, minimum=_MIN)]
    to_mm: Annotated[int, length_mm("Where it ends.", example=2450, minimum=_MIN)]
    overlap_mm: Annotated[int, length_mm("Overlap of the two parts.", example=100)]
    member_mm: Annotated[
        int, length_mm("Middle of the member behind it, along the run.", example=2400, minimum=_MIN)
    ]
    cost: Annotated[
        Decimal, money("Tape and taping of the joint, and hanging one piece more.", example="4.10")
    ]


@dataclass(frozen=True, slots=True)
class Splicing:
    """What splices save, at buying price and labour cost without mark-ups."""

    splices: Annotated[tuple[Splice, ...], many(Splice, "In laying order.")]
    rolls_saved: Annotated[int, whole("Rolls opened fewer than without splices.", example=1, minimum=-10_000)]
    rolls_cost_saved: Annotated[Decimal, money("What the rolls to buy cost less.", example="120.00")]
    splices_cost: Annotated[Decimal, money("What the splices cost together.", example="4.10")]
    money_saved: Annotated[Decimal, money("The one less the other.", example="115.90")]


@dataclass(frozen=True, slots=True)
class CutList:
    """How every piece of a job is cut."""

    rolls: Annotated[tuple[Roll, ...], many(Roll, "Every roll opened and offcut used.")]
    rolls_opened: Annotated[int, whole("New rolls and rolls from stock opened.", example=3)]
    rolls_bound: Annotated[int, whole("No way of cutting these pieces as cheaply opens fewer.", example=3)]
    cost: Annotated[Decimal, money("What the rolls to buy cost.", example="360.00")]
    cost_bound: Annotated[Decimal, money("No way of cutting these pieces costs less.", example="360.00")]
    proven: Annotated[bool, truth("Is it certain that nothing is cheaper?", example=True)]
    kept: Annotated[tuple[KeptOffcut, ...], many(KeptOffcut, "Left over and long enough to keep.")] = ()
    spliced: Annotated[
        Splicing | None,
        one(Splicing, "Pieces made of two parts because that costs less; null where every piece is whole."),
    ] = None
