"""The installation standard a contractor works to. Every default carries its provenance."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, length_mm, many, money, share, truth
from api_schema.provenance import Provenance, ProvenanceKind

MeasurementRule = Literal["net", "deduct_over_1_00_m2", "deduct_over_2_50_m2"]
BattenPlace = Literal["none", "slopes_and_ceilings", "everywhere"]
BATTEN_PLACES: tuple[BattenPlace, ...] = ("none", "slopes_and_ceilings", "everywhere")
BattenRun = Literal["across_members", "along_members"]
BATTEN_RUNS: tuple[BattenRun, ...] = ("across_members", "along_members")
MEASUREMENT_RULES: tuple[MeasurementRule, ...] = ("net", "deduct_over_1_00_m2", "deduct_over_2_50_m2")

_PRACTICE: ProvenanceKind = "common practice"
_DEFAULT_PROVENANCE: tuple[Provenance, ...] = (
    Provenance("lap_mm", _PRACTICE, "at least 100 mm; NBC 9.25.3.3 (Canada) asks the same of clamped laps"),
    Provenance("end_lap_mm", _PRACTICE, "as the lap, on a member"),
    Provenance("cut_step_mm", _PRACTICE, "sheets carry marks every 100 mm, so a cut is counted off"),
    Provenance("handled_length_mm", _PRACTICE, "pieces of 8 to 10 m are handled in one, also overhead"),
    Provenance("return_mm", _PRACTICE, "about 50 mm past an internal corner, taped flat"),
    Provenance("trim_mm", _PRACTICE),
    Provenance("edge_timber_mm", _PRACTICE),
    Provenance("edge_masonry_mm", _PRACTICE),
    Provenance("edge_slab_mm", _PRACTICE),
    Provenance("edge_frame_mm", _PRACTICE),
    Provenance("edge_open_mm", _PRACTICE),
    Provenance("opening_turn_in_mm", _PRACTICE),
    Provenance("along_members_allowed", _PRACTICE, "only with every lap on a member"),
    Provenance("slanted_cuts_allowed", _PRACTICE, "ends are cut square, so that every length is counted off"),
    Provenance("splices_allowed", _PRACTICE, "a joint less is a leak less"),
    Provenance("splice_part_mm", _PRACTICE, "short parts are more tape than membrane"),
    Provenance("splice_overlap_mm", _PRACTICE, "as an end lap, on a member"),
    Provenance("lap_clear_mm", _PRACTICE, "a lap beside a pipe is hard to seal"),
    Provenance(
        "lap_penalty_per_m", "invented", "what a lap beside a penetration or opening edge is worth avoiding"
    ),
    Provenance("fixing_centres_in_place_mm", _PRACTICE, "insulation in place"),
    Provenance("fixing_centres_blown_in_mm", _PRACTICE, "insulation blown in behind the layer"),
    Provenance(
        "battens_in_place", _PRACTICE, "insulation in place presses on nothing: the staples hold the sheet"
    ),
    Provenance(
        "battens_blown_in",
        _PRACTICE,
        "on slopes and ceilings battens take the weight and pressure of the fill; on walls the closer staples do",
    ),
    Provenance("batten_run", _PRACTICE, "across the members they span the bays that the fill presses on"),
    Provenance("batten_centres_mm", _PRACTICE),
    Provenance("captive_tape_piece_mm", _PRACTICE),
    Provenance("captive_tape_overlap_mm", _PRACTICE),
    Provenance("bead_mm", _PRACTICE),
    Provenance("keep_remnant_mm", "invented", "shorter ends are thrown away"),
    Provenance("tape_waste", "memory"),
    Provenance("bead_waste", "memory"),
    Provenance("primer_waste", "memory"),
    Provenance("staple_waste", "memory"),
    Provenance("batten_waste", "memory", "ends of battens"),
    Provenance(
        "measurement_rule",
        "memory",
        "NRM2: voids up to 1.00 m² are not deducted for sheet coverings; VOB/C deducts over 2.5 m²",
    ),
)


@dataclass(frozen=True, slots=True)
class Standard:
    """How this contractor lays, laps, fixes and measures."""

    lap_mm: Annotated[
        int, length_mm("Overlap of neighbouring strips, at least.", example=100, minimum=10, maximum=1000)
    ] = 100
    end_lap_mm: Annotated[
        int, length_mm("Overlap of two pieces of one strip.", example=100, minimum=10, maximum=1000)
    ] = 100
    cut_step_mm: Annotated[
        int, length_mm("Cut lengths are rounded up to this.", example=100, minimum=1, maximum=1000)
    ] = 100
    handled_length_mm: Annotated[
        int, length_mm("Longest piece handled in one.", example=10_000, minimum=500, maximum=100_000)
    ] = 10_000
    return_mm: Annotated[
        int, length_mm("Past an internal corner on to the neighbouring surface.", example=50, maximum=1000)
    ] = 50
    trim_mm: Annotated[int, length_mm("Spare at an edge, trimmed off.", example=20, maximum=500)] = 20
    edge_timber_mm: Annotated[int, length_mm("Allowance at an edge on timber.", example=50, maximum=1000)] = (
        50
    )
    edge_masonry_mm: Annotated[
        int, length_mm("Allowance at an edge on masonry.", example=80, maximum=1000)
    ] = 80
    edge_slab_mm: Annotated[int, length_mm("Allowance at an edge on a slab.", example=80, maximum=1000)] = 80
    edge_frame_mm: Annotated[int, length_mm("Allowance at an edge on a frame.", example=50, maximum=1000)] = (
        50
    )
    edge_open_mm: Annotated[int, length_mm("Allowance at an open edge.", example=0, maximum=1000)] = 0
    opening_turn_in_mm: Annotated[
        int, length_mm("Turned into an opening all round.", example=0, maximum=1000)
    ] = 0
    along_members_allowed: Annotated[
        bool, truth("May strips run along the members, every lap on one?", example=True)
    ] = True
    slanted_cuts_allowed: Annotated[
        bool,
        truth(
            "May two pieces with slanted ends be cut from one shorter length, where that saves membrane?",
            example=False,
        ),
    ] = False
    splices_allowed: Annotated[
        bool,
        truth(
            "May a piece be made of the end of one roll and the start of another, on a member, where that costs less?",
            example=False,
        ),
    ] = False
    splice_part_mm: Annotated[
        int, length_mm("Shortest part of a spliced piece.", example=1000, minimum=200, maximum=50_000)
    ] = 1000
    splice_overlap_mm: Annotated[
        int,
        length_mm(
            "Overlap of the two parts; never less than that of an end lap.",
            example=100,
            minimum=10,
            maximum=1000,
        ),
    ] = 100
    lap_clear_mm: Annotated[
        int,
        length_mm("A lap nearer than this to a penetration's edge is penalised.", example=100, maximum=1000),
    ] = 100
    lap_penalty_per_m: Annotated[
        Decimal,
        money("Penalty by metre of lap too near a penetration or along an opening edge.", example="5.00"),
    ] = Decimal("5.00")
    fixing_centres_in_place_mm: Annotated[
        int, length_mm("Staples apart, insulation in place.", example=100, minimum=10, maximum=1000)
    ] = 100
    fixing_centres_blown_in_mm: Annotated[
        int, length_mm("Staples apart, insulation blown in.", example=50, minimum=10, maximum=1000)
    ] = 50
    battens_in_place: Annotated[
        BattenPlace,
        choice(
            "Where battens go over the membrane, insulation in place; everywhere: walls too, never floors.",
            BATTEN_PLACES,
            example="none",
        ),
    ] = "none"
    battens_blown_in: Annotated[
        BattenPlace,
        choice(
            "Where battens go over the membrane, insulation blown in; everywhere: walls too, never floors.",
            BATTEN_PLACES,
            example="slopes_and_ceilings",
        ),
    ] = "slopes_and_ceilings"
    batten_run: Annotated[
        BattenRun,
        choice(
            "Across the members at the centres given, or along every member.",
            BATTEN_RUNS,
            example="across_members",
        ),
    ] = "across_members"
    batten_centres_mm: Annotated[
        int,
        length_mm(
            "Middles of battens apart, across the members; the first half of it from the edge.",
            example=400,
            minimum=50,
            maximum=2000,
        ),
    ] = 400
    captive_tape_piece_mm: Annotated[
        int,
        length_mm("Length of each tape piece round a captive pipe.", example=150, minimum=20, maximum=1000),
    ] = 150
    captive_tape_overlap_mm: Annotated[int, length_mm("Overlap of those pieces.", example=10, maximum=50)] = (
        10
    )
    bead_mm: Annotated[int, length_mm("Diameter of a sealant bead.", example=6, minimum=1, maximum=50)] = 6
    keep_remnant_mm: Annotated[
        int, length_mm("Shortest remnant or offcut worth keeping.", example=1000, maximum=50_000)
    ] = 1000
    tape_waste: Annotated[Decimal, share("Tape lost.", example="0.05", maximum="1")] = Decimal("0.05")
    bead_waste: Annotated[Decimal, share("Sealant lost.", example="0.10", maximum="0.9")] = Decimal("0.10")
    primer_waste: Annotated[Decimal, share("Primer lost.", example="0.05", maximum="1")] = Decimal("0.05")
    staple_waste: Annotated[Decimal, share("Staples lost.", example="0.05", maximum="1")] = Decimal("0.05")
    batten_waste: Annotated[Decimal, share("Battens lost.", example="0.10", maximum="1")] = Decimal("0.10")
    measurement_rule: Annotated[
        MeasurementRule,
        choice("How areas are measured for payment.", MEASUREMENT_RULES, example="deduct_over_1_00_m2"),
    ] = "net"
    provenance: Annotated[
        tuple[Provenance, ...], many(Provenance, "Where each value comes from.", most=200)
    ] = _DEFAULT_PROVENANCE
