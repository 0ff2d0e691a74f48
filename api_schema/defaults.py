"""What a new account starts from: its standard, its labour outputs and an invented price book.

Each value carries where it comes from. "published" names its source; "memory" is recalled and waits for the user
to confirm it; "invented" is demo data and is never a price anybody quoted.
"""

from __future__ import annotations

from decimal import Decimal

from api_schema.outputs import Condition, OperationName, Output, Outputs, OutputUnit
from api_schema.price_book import Pack, PriceBook, PriceBreak, Product, Supplier
from api_schema.provenance import ProvenanceKind
from api_schema.standard import Standard
from api_schema.tax import TaxRate

_RECALLED = "recalled, low confidence; no dependable published table was found; please confirm"

# operation, unit, minutes low, likely, high, provenance, source. One person, electric stapler, wall, up to 2.5 m.
_OPERATIONS: tuple[tuple[OperationName, OutputUnit, str, str, str, ProvenanceKind, str], ...] = (
    ("set_up_room", "room", "15", "25", "45", "memory", f"platforms, tools, sheets to the room; {_RECALLED}"),
    ("hang_membrane", "m2", "3.6", "4.16", "7.2", "published",
     "likely: state norm GESN 12-01-015-03, loose-laid vapour barrier, 6.94 man-hours per 100 m²; low and high: "
     "0.08 to 0.15 h/m² of wall, less stapling and handling, " + _RECALLED),
    ("hang_piece", "piece", "2", "3", "6", "memory", f"measure, cut and offer up one piece; {_RECALLED}"),
    ("tape_lap", "m", "1.2", "1.8", "2.4", "memory", f"0.02 to 0.04 h per metre of lap; {_RECALLED}"),
    ("tape_corner", "m", "1.8", "2.7", "4.2", "memory", f"folding and rubbing down both sides; {_RECALLED}"),
    ("seal_timber_edge", "m", "1.5", "2.4", "4.0", "memory", f"taped to clean timber; {_RECALLED}"),
    ("seal_masonry_edge", "m", "4.8", "6.5", "9.0", "memory", f"0.08 to 0.15 h per metre, primer and bead; {_RECALLED}"),
    ("seal_slab_edge", "m", "4.8", "6.5", "9.0", "memory", f"as to masonry; {_RECALLED}"),
    ("seal_frame", "m", "4.8", "6.0", "9.0", "memory", f"0.08 to 0.15 h per metre of frame; {_RECALLED}"),
    ("cut_out_opening", "piece", "3", "5", "9", "memory", f"cut and turn in, each opening; {_RECALLED}"),
    ("fit_collar", "piece", "6", "9", "18", "memory",
     f"0.10 to 0.30 h each when fitted afterwards, about 10 s when slipped on as the pipe goes in; {_RECALLED}"),
    ("tape_captive", "piece", "10", "16", "30", "memory", f"short strips round a pipe with no free end; {_RECALLED}"),
    ("tape_section", "piece", "10", "16", "30", "memory", f"tape and corner pieces round a timber or steel; {_RECALLED}"),
    ("staple", "piece", "0.02", "0.025", "0.045", "memory", f"about 1.5 s a staple; {_RECALLED}"),
    ("fix_batten", "m", "3.6", "4.8", "6.0", "memory", f"0.06 to 0.10 h per metre, cut and screwed; {_RECALLED}"),
    ("check_layer", "m2", "0.3", "0.5", "0.9", "memory", f"look over and rub down once more; {_RECALLED}"),
    ("clear_away", "room", "10", "15", "30", "memory", f"waste, offcuts, tools out of the room; {_RECALLED}"),
    ("pre_test_walk", "job", "30", "45", "90", "memory", f"walk round before the pressure test; {_RECALLED}"),
)  # fmt: skip

_ON_A_SURFACE: tuple[str, ...] = (
    "hang_membrane", "hang_piece", "tape_lap", "tape_corner", "seal_timber_edge", "seal_masonry_edge",
    "seal_slab_edge", "seal_frame", "cut_out_opening", "fit_collar", "tape_captive", "tape_section", "staple",
    "fix_batten", "check_layer",
)  # fmt: skip
_SLOPES = "slopes and ceilings 0.10 to 0.20 h/m² beside walls 0.08 to 0.15 h/m²; " + _RECALLED


def default_standard() -> Standard:
    """The installation standard a new account starts from; its provenance stands in the record."""
    return Standard()


def default_outputs() -> Outputs:
    """Labour outputs for every operation: minutes of one person per unit, low, likely and high."""
    return Outputs(
        operations=tuple(
            Output(name, unit, Decimal(low), Decimal(likely), Decimal(high), provenance, note)
            for name, unit, low, likely, high, provenance, note in _OPERATIONS
        ),
        conditions=(
            Condition("slope", "position", "slope", Decimal("1.25"), _ON_A_SURFACE, "memory", _SLOPES),
            Condition("overhead", "position", "overhead", Decimal("1.30"), _ON_A_SURFACE, "memory", _SLOPES),
            Condition("floor", "position", "floor", Decimal("0.90"), _ON_A_SURFACE, "memory", f"kneeling, nothing to hold up; {_RECALLED}"),
            Condition("reveal", "position", "reveal", Decimal("1.35"), _ON_A_SURFACE, "published",
                      "GESN raises hours by up to 1.35 for ornate surfaces; taken for narrow reveals by analogy"),
            Condition("height-over-2500", "height", "over_2500_mm", Decimal("1.10"), _ON_A_SURFACE, "memory", f"from a platform; {_RECALLED}"),
            Condition("height-over-3500", "height", "over_3500_mm", Decimal("1.25"), _ON_A_SURFACE, "memory",
                      f"from a tower; VOB/C counts own scaffolding up to 3.50 m as included; {_RECALLED}"),
            Condition("height-over-5000", "height", "over_5000_mm", Decimal("1.40"), _ON_A_SURFACE, "memory", f"from a scaffold; {_RECALLED}"),
            Condition("stapled-by-hand", "stapler", "hand", Decimal("1.60"), ("staple",), "memory", f"suits small jobs only; {_RECALLED}"),
            Condition("stapled-electric", "stapler", "electric", Decimal("1.00"), ("staple",), "memory", "the output itself"),
            Condition("stapled-pneumatic", "stapler", "pneumatic", Decimal("0.80"), ("staple",), "memory", _RECALLED),
            Condition("blown-in", "insulation", "blown_in", Decimal("1.10"), ("tape_lap", "tape_corner", "check_layer"), "memory",
                      f"joints must bear the filling pressure; the closer staples are counted, not factored; {_RECALLED}"),
            Condition("large-piece", "piece_size", "over_10_m2", Decimal("1.50"), ("hang_piece",), "memory", f"two people hold it; {_RECALLED}"),
            Condition("small-piece", "piece_size", "under_2_m2", Decimal("0.70"), ("hang_piece",), "memory", _RECALLED),
        ),
    )  # fmt: skip


# smallest and largest diameter (mm), pieces in a pack, price of the pack: invented. Together from a single cable to
# 450 mm, so that every EN 1057, EN 1329/1401, EN 1506 and EN 61386 size finds one.
_COLLARS = (
    (4, 11, 10, "14.00"), (12, 17, 10, "19.00"), (18, 24, 10, "22.00"), (25, 35, 5, "14.50"),
    (36, 49, 5, "17.50"), (50, 64, 5, "21.00"), (65, 79, 2, "11.00"), (80, 99, 2, "13.00"),
    (100, 114, 2, "14.00"), (115, 139, 2, "17.00"), (140, 164, 2, "20.00"), (165, 199, 1, "13.50"),
    (200, 224, 1, "16.00"), (225, 264, 1, "19.50"), (265, 324, 1, "25.00"), (325, 389, 1, "31.00"),
    (390, 450, 1, "38.00"),
)  # fmt: skip


def default_price_book() -> PriceBook:
    """An invented price book of two example suppliers, enough to plan and price a whole house.

    Every product and price in it is invented and marked so; an account replaces it with its own.
    """
    near, far = "example-supplies", "example-trade-counter"
    fixed = (
        Product("membrane-1500", "Membrane 1.5 m wide", "membrane", near, "m",
                (_pack("50", "120.00", (6, "114.00"), (20, "106.00")), _pack("25", "66.00")), width_mm=1500),
        Product("membrane-750", "Membrane 0.75 m wide", "membrane", near, "m", (_pack("50", "66.00"),), width_mm=750),
        Product("tape-60", "Lap tape 60 mm", "lap_tape", near, "m",
                (_pack("30", "18.00", (20, "17.20")), _pack("300", "165.00")), width_mm=60),
        Product("trade-tape-60", "Lap tape 60 mm, trade", "lap_tape", far, "m",
                (_pack("25", "15.50", (12, "14.20")), _pack("250", "139.00")), width_mm=60),
        Product("frame-tape-75", "Frame tape 75 mm", "frame_tape", near, "m",
                (_pack("25", "21.00"), _pack("250", "192.00")), width_mm=75),
        Product("sealant-310", "Membrane sealant, 310 ml cartridge", "sealant", near, "ml",
                (_pack("310", "7.40"), _pack("3720", "81.00")), millilitres=Decimal(310)),
        Product("sealant-600", "Membrane sealant, 600 ml pouch", "sealant", far, "ml",
                (_pack("600", "12.90"), _pack("7200", "142.00")), millilitres=Decimal(600)),
        Product("primer-40", "Primer for porous ground, tin for 40 m", "primer", near, "m", (_pack("40", "16.00"), _pack("120", "43.00"))),
        Product("batten-50", "Batten 25 × 50 mm, 4.8 m long", "batten", near, "m", (_pack("4.8", "3.60"), _pack("48", "33.00"))),
        Product("staples-10", "Staples, 10 mm leg", "staples", near, "piece", (_pack("5000", "11.50"), _pack("20000", "41.00"))),
    )  # fmt: skip
    collars = tuple(
        Product(f"collar-{smallest}-{largest}", f"Collar for {smallest} to {largest} mm", "collar", near, "piece",
                (_pack(str(pieces), price),), smallest_mm=smallest, largest_mm=largest)
        for smallest, largest, pieces, price in _COLLARS
    )  # fmt: skip
    return PriceBook(
        products=fixed + collars,
        suppliers=(
            Supplier(near, "Example Supplies", ("2 Sample Road", "Exampletown"), "orders@supplies.example"),
            Supplier(far, "Example Trade Counter", ("9 Sample Yard", "Exampleford"), "orders@trade.example"),
        ),
        tax_rates=(
            TaxRate("reduced", "reduced", Decimal("0.05"), "AA"),
            TaxRate("zero", "zero", Decimal(0), "Z"),
        ),
    )


def _pack(size: str, price: str, *breaks: tuple[int, str]) -> Pack:
    return Pack(
        Decimal(size), Decimal(price), tuple(PriceBreak(packs, Decimal(each)) for packs, each in breaks)
    )
