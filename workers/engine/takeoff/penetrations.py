"""How each penetration is sealed: collar, tape, tape and corner pieces, or a non-combustible closure."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_CEILING, Decimal

from api_schema.engine_words import in_english
from api_schema.price_book import PriceBook, Product
from api_schema.said import said
from api_schema.standard import Standard
from api_schema.surface import Penetration
from api_schema.take_off import Sealing
from workers.engine.refusal import SettingRefused
from workers.engine.takeoff.rounding import EXACT, PI, metres

USUAL_TAPE_WIDTH_MM = 60  # common practice; used where the price book has no lap tape with a width
_CORNERS = 4


def seal(surface_id: str, penetration: Penetration, price_book: PriceBook, standard: Standard) -> Sealing:
    """How one penetration of a surface is sealed, and with how much tape.

    A flue is never touched by membrane, tape or rubber. A round one with a free end takes the smallest collar
    that holds it, which brings its own tape. Any other round one is taped in short strips one width apart round
    it: ceil(π · d ÷ (tape width − overlap)) pieces. A section takes its perimeter in tape and a piece in each of
    its four corners.

    Raises:
        SettingRefused: if the tape is no wider than its overlap.
    """
    where, count = (surface_id, penetration.id), penetration.count
    if penetration.kind == "flue":
        hot = said("sealing.hot")
        return Sealing(*where, "non_combustible", count, note=in_english(hot), note_said=hot)
    if penetration.width_mm is not None and penetration.height_mm is not None:
        return _section(where, penetration.width_mm, penetration.height_mm, count, standard)
    diameter = penetration.diameter_mm or 0
    note = None
    if penetration.free_end:
        collar = smallest_collar(price_book.products, diameter)
        if collar is not None:
            return Sealing(*where, "collar", count, product=collar.code)
        note = said("sealing.no_collar", size_mm=diameter)
    pieces = tape_pieces(diameter, tape_width_mm(price_book), standard.captive_tape_overlap_mm)
    piece = standard.captive_tape_piece_mm
    return Sealing(
        *where, "taped", count, tape_pieces=pieces, tape_piece_mm=piece, tape_m=metres(count * pieces * piece),
        note=in_english(note) if note is not None else "", note_said=note,
    )  # fmt: skip


def smallest_collar(products: Iterable[Product], diameter_mm: int) -> Product | None:
    """The collar with the smallest upper limit whose range holds the diameter; then the cheapest, then by code."""
    fitting = [
        (product.largest_mm, min(pack.price / pack.size for pack in product.packs), product.code, product)
        for product in products
        if product.kind == "collar"
        and product.smallest_mm is not None
        and product.largest_mm is not None
        and product.smallest_mm <= diameter_mm <= product.largest_mm
    ]
    return min(fitting, key=lambda found: found[:3])[3] if fitting else None


def tape_pieces(diameter_mm: int, tape_mm: int, overlap_mm: int) -> int:
    """Pieces of tape round a pipe: ceil(π · d ÷ (tape width − overlap)).

    Raises:
        SettingRefused: if the tape is no wider than the overlap.
    """
    if tape_mm <= overlap_mm:
        raise SettingRefused(
            "standard",
            f"Tape of {tape_mm} mm cannot overlap by {overlap_mm} mm round a pipe; "
            "lower captive_tape_overlap_mm in the standard or choose a wider tape.",
        )
    round_it = EXACT.divide(EXACT.multiply(PI, diameter_mm), Decimal(tape_mm - overlap_mm))
    return int(round_it.to_integral_value(ROUND_CEILING))


def tape_width_mm(price_book: PriceBook) -> int:
    """Width of the narrowest lap tape in the price book, so that the pieces suffice whichever is bought."""
    widths = [p.width_mm for p in price_book.products if p.kind == "lap_tape" and p.width_mm is not None]
    return min(widths, default=USUAL_TAPE_WIDTH_MM)


def _section(where: tuple[str, str], width: int, height: int, count: int, standard: Standard) -> Sealing:
    perimeter, corner = 2 * (width + height), standard.captive_tape_piece_mm
    note = said("sealing.section", round_mm=perimeter)
    return Sealing(
        *where, "section_taped", count, tape_pieces=_CORNERS, tape_piece_mm=corner,
        tape_m=metres(count * (perimeter + _CORNERS * corner)),
        note=in_english(note), note_said=note,
    )  # fmt: skip
