"""The contractor's labour outputs: time per unit of each operation, with the conditions that change it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, list_of, many, number, share, text, whole
from api_schema.provenance import PROVENANCE_KINDS, Provenance, ProvenanceKind

OperationName = Literal[
    "set_up_room", "hang_membrane", "hang_piece", "tape_lap", "tape_corner", "seal_timber_edge",
    "seal_masonry_edge", "seal_slab_edge", "seal_frame", "cut_out_opening", "fit_collar", "tape_captive",
    "tape_section", "staple", "fix_batten", "check_layer", "clear_away", "pre_test_walk",
]  # fmt: skip
OPERATIONS: tuple[OperationName, ...] = (
    "set_up_room", "hang_membrane", "hang_piece", "tape_lap", "tape_corner", "seal_timber_edge",
    "seal_masonry_edge", "seal_slab_edge", "seal_frame", "cut_out_opening", "fit_collar", "tape_captive",
    "tape_section", "staple", "fix_batten", "check_layer", "clear_away", "pre_test_walk",
)  # fmt: skip
OPERATION_WORDS: dict[OperationName, str] = {
    "set_up_room": "Set up rooms",
    "hang_membrane": "Hang membrane",
    "hang_piece": "Measure, cut and offer up pieces",
    "tape_lap": "Tape laps",
    "tape_corner": "Tape internal corners",
    "seal_timber_edge": "Seal edges to timber",
    "seal_masonry_edge": "Seal edges to masonry",
    "seal_slab_edge": "Seal edges to slab",
    "seal_frame": "Seal to frames",
    "cut_out_opening": "Cut out openings",
    "fit_collar": "Fit collars",
    "tape_captive": "Tape pipes without a free end",
    "tape_section": "Tape round timber and steel",
    "staple": "Staple",
    "fix_batten": "Fix battens",
    "check_layer": "Check the layer",
    "clear_away": "Clear away",
    "pre_test_walk": "Walk round before the pressure test",
}
"""What operations are called on quotes and pages."""
OutputUnit = Literal["room", "m2", "m", "piece", "job"]


@dataclass(frozen=True, slots=True)
class Output:
    """Minutes one person needs per unit of an operation, before conditions."""

    operation: Annotated[OperationName, choice("The operation.", OPERATIONS, example="tape_lap")]
    unit: Annotated[OutputUnit, choice("Counted by.", ("room", "m2", "m", "piece", "job"), example="m")]
    low_minutes: Annotated[
        Decimal, number("Minutes when all goes well.", example="1.2", unit="min", maximum="10000")
    ]
    likely_minutes: Annotated[
        Decimal, number("Minutes to expect.", example="1.8", unit="min", maximum="10000")
    ]
    high_minutes: Annotated[
        Decimal, number("Minutes on a bad day.", example="2.4", unit="min", maximum="10000")
    ]
    provenance: Annotated[
        ProvenanceKind, choice("Where it comes from.", PROVENANCE_KINDS, example="memory")
    ] = "memory"
    note: Annotated[str, text("The source.", example="starting value, to be confirmed", longest=400)] = ""
    jobs_behind: Annotated[int, whole("Finished jobs of this account behind the figure.", example=0)] = 0


@dataclass(frozen=True, slots=True)
class Condition:
    """A factor on one operation (or all) where something holds."""

    name: Annotated[str, identifier("Its name.", example="overhead")]
    when: Annotated[
        Literal["position", "height", "stapler", "insulation", "piece_size"],
        choice("What it looks at.", ("position", "height", "stapler", "insulation", "piece_size")),
    ]
    equals: Annotated[str, text("The value it applies to.", example="overhead", longest=40)]
    factor: Annotated[
        Decimal,
        number("Minutes are multiplied by this.", example="1.3", unit="1", minimum="0.1", maximum="10"),
    ]
    operations: Annotated[
        tuple[str, ...],
        list_of(
            choice("An operation.", OPERATIONS, example="tape_lap"),
            "The operations it changes; all where empty.",
            most=50,
        ),
    ] = ()
    provenance: Annotated[
        ProvenanceKind, choice("Where it comes from.", PROVENANCE_KINDS, example="memory")
    ] = "memory"
    note: Annotated[str, text("The source.", example="starting value, to be confirmed", longest=400)] = ""


_DEFAULT_PROVENANCE: tuple[Provenance, ...] = (
    Provenance("crew_size", "common practice", "a piece overhead is held by two"),
    Provenance("hours_per_day", "invented", "put your own in, without breaks and the way to the site"),
    Provenance("sure_share", "invented", "how sure a promise should be is yours to choose"),
)


@dataclass(frozen=True, slots=True)
class Outputs:
    """All labour outputs of an account."""

    operations: Annotated[tuple[Output, ...], many(Output, "One entry an operation.", most=100)]
    conditions: Annotated[tuple[Condition, ...], many(Condition, "What changes them.", most=200)] = ()
    crew_size: Annotated[int, whole("People in the crew.", example=2, minimum=1, maximum=50)] = 2
    hours_per_day: Annotated[
        Decimal,
        number("Working hours of one person a day.", example="7.5", unit="h", minimum="1", maximum="24"),
    ] = Decimal("7.5")
    sure_share: Annotated[
        Decimal,
        share("The safe hours suffice in this part of jobs.", example="0.8", minimum="0.5", maximum="0.99"),
    ] = Decimal("0.8")
    provenance: Annotated[
        tuple[Provenance, ...],
        many(Provenance, "Where the crew's size, its working hours and the sure share come from.", most=20),
    ] = _DEFAULT_PROVENANCE
